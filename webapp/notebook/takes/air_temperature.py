"""Air temperature: refused where nobody plays."""

from webapp.notebook.store.errors import FieldRefused

TEMPERATURE_RANGE_C = (-10.0, 45.0)


def check_temperature(air_temperature_c: float | None) -> None:
    """Refuse an air temperature in which nobody plays.

    Raises:
        FieldRefused: it is out of range.
    """
    low, high = TEMPERATURE_RANGE_C
    if air_temperature_c is not None and not low <= air_temperature_c <= high:
        raise FieldRefused(
            "air_temperature_c",
            f"An air temperature of {air_temperature_c:g} °C was entered; "
            f"give one from {low:g} to {high:g} °C, or leave it open.",
        )
