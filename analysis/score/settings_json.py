"""Settings of reading as plain values for JSON, and back without loss."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from analysis.pitch import WrittenPitch
from analysis.score.settings import ReadingSettings, SignLasts, TempoAnswer, TrillAnswer


def settings_to_plain(settings: ReadingSettings) -> dict[str, Any]:
    """Return the answers that were given; what was not answered is left out.

    >>> settings_to_plain(ReadingSettings(arrow_cents=Fraction(100, 3), voice="2"))
    {'arrow_cents': '100/3', 'voice': '2'}
    """
    plain: dict[str, Any] = {
        "is_sounding": settings.is_sounding,
        "transposition_cents": settings.transposition_cents,
        "arrow_cents": _text(settings.arrow_cents),
        "stroked_cents": _text(settings.stroked_cents),
        "sign_lasts": settings.sign_lasts.value if settings.sign_lasts else None,
        "voice": settings.voice,
        "sign_cents": [[name, str(cents)] for name, cents in settings.sign_cents] or None,
        "trills": [[each.bar, str(each.onset), each.upper.canonical] for each in settings.trills]
        or None,
        "tempos": [[each.bar, str(each.quarters_per_minute)] for each in settings.tempos] or None,
    }
    return {name: value for name, value in plain.items() if value is not None}


def settings_from_plain(plain: Mapping[str, Any]) -> ReadingSettings:
    """Read what `settings_to_plain` writes; raises `UnsuitableSetting` for impossible sizes.

    >>> settings_from_plain({"sign_lasts": "note"}).sign_lasts
    <SignLasts.NOTE: 'note'>
    """
    lasts = plain.get("sign_lasts")
    return ReadingSettings(
        is_sounding=plain.get("is_sounding"),
        transposition_cents=plain.get("transposition_cents"),
        arrow_cents=_fraction(plain.get("arrow_cents")),
        stroked_cents=_fraction(plain.get("stroked_cents")),
        sign_lasts=SignLasts(lasts) if lasts else None,
        voice=plain.get("voice"),
        sign_cents=tuple((name, Fraction(cents)) for name, cents in plain.get("sign_cents", ())),
        trills=tuple(
            TrillAnswer(bar, Fraction(onset), WrittenPitch.from_canonical(upper))
            for bar, onset, upper in plain.get("trills", ())
        ),
        tempos=tuple(TempoAnswer(bar, Fraction(figure)) for bar, figure in plain.get("tempos", ())),
    )


def _text(cents: Fraction | None) -> str | None:
    return None if cents is None else str(cents)


def _fraction(text: str | None) -> Fraction | None:
    return None if text is None else Fraction(text)
