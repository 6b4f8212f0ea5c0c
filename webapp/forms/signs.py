"""Fields of a system of signs: which system, and the sizes that scores differ in."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

from fractions import Fraction

from flask_wtf import FlaskForm
from wtforms import SelectChoice

from analysis.pitch import SignSystem, SystemId, UnknownSignSystem
from webapp.forms.fields import ChoiceField, NumberField
from webapp.notebook.store.errors import FieldRefused

SYSTEMS = [SelectChoice(each.value, each.words) for each in SystemId]
_FIELDS = ("arrow_cents", "double_arrow_cents", "stroked_flat_cents", "filled_flat_cents")


class SignSystemForm(FlaskForm):
    """Which system of signs, and the sizes of arrows and flats in cents."""

    accidental_style = ChoiceField("Signs for microtones", choices=SYSTEMS)
    arrow_cents = NumberField("An arrow is (cents)")
    double_arrow_cents = NumberField("Two arrows are (cents)")
    stroked_flat_cents = NumberField("A stroked flat is (cents)")
    filled_flat_cents = NumberField("A filled flat is (cents)")


def fill_in(system: SignSystem) -> dict[str, str]:
    """Return what the fields show for a system."""
    sizes = {name: getattr(system, name) for name in _FIELDS}
    return {
        "accidental_style": system.id.value,
        **{name: "" if size is None else f"{float(size):g}" for name, size in sizes.items()},
    }


def read_sign_system(form: SignSystemForm) -> SignSystem:
    """Return the system that was chosen, with its sizes to a thousandth of a cent.

    Raises:
        FieldRefused: a size is out of its range.
    """
    kind = SystemId(form.accidental_style.data)
    numbers: list[float | None] = [form[name].number for name in _FIELDS]
    sizes = [None if each is None else Fraction(round(each * 1000), 1000) for each in numbers]
    for place, name in enumerate(_FIELDS):
        try:
            SignSystem(kind, *(size if at == place else None for at, size in enumerate(sizes)))
        except UnknownSignSystem as error:
            raise FieldRefused(name, str(error)) from error
    return SignSystem(kind, *sizes)
