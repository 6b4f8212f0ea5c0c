"""Arguments of commands about fingerings: read them, or refuse with a pointer to the fault."""

import click

from analysis.errors import AnalysisError
from analysis.keywork import (
    ImpossibleFingering,
    KeyStates,
    Layout,
    UnreadableFingering,
    check_playable,
    customise,
    layouts_for_kind,
    optional_keys,
    parse_fingering,
)
from analysis.pitch import (
    InstrumentKind,
    Tuning,
    UnreadablePitch,
    WrittenPitch,
    find_kind,
    parse_pitch,
    resolve_written,
)


def read_kind(text: str) -> InstrumentKind:
    """Read a kind of clarinet."""
    try:
        return find_kind(text)
    except AnalysisError as error:
        raise click.UsageError(f"--instrument: {error}") from error


def choose_layout(kind: InstrumentKind, wanted: str) -> Layout:
    """Find a layout for a kind by its id, or the first that serves it.

    Those of the player's own are looked at where none that comes with the program is meant. (No
    tube is known for them, and what predicts says so.)
    """
    serving = layouts_for_kind(kind.id)
    found = [each for each in serving if wanted in {"", each.id}]
    if not found:
        from webapp.cli.own_layouts import read_own_layouts  # late: it loads the database

        own = [each for each in read_own_layouts() if kind.id in each.kinds]
        serving = (*own, *serving)
        found = [each for each in own if wanted in {"", each.id}]
    if not found:
        names = ", ".join(each.id for each in serving)
        raise click.UsageError(f"--layout: for the {kind.name} choose one of {names or 'none'}.")
    return found[0]


def add_keys(layout: Layout, wanted: tuple[str, ...]) -> Layout:
    """Add keys to a layout that not every instrument has, each by its id or its name."""
    if not wanted:
        return layout
    optional = optional_keys(layout)
    chosen = set()
    for text in wanted:
        sought = text.strip().casefold()
        named = {
            key.id
            for key in optional
            if sought in {key.id.casefold(), key.name.casefold(), key.token.casefold()}
        }
        if len(named) != 1:
            names = ", ".join(f"{key.id} ({key.name})" for key in optional)
            raise click.UsageError(
                f"--with: “{text}” is no key that {layout.name} may have or lack. "
                f"Those are: {names or 'none'}."
            )
        chosen |= named
    return customise(
        layout,
        without=frozenset(layout.without - chosen),
        names=dict(layout.renamed),
        right_thumb=layout.right_thumb,
    )


def read_target(text: str, kind: InstrumentKind, tuning_hz: float) -> WrittenPitch:
    """Read what a player types for a note as written pitch; hertz need the tuning A."""
    try:
        tuning = Tuning(tuning_hz)
        request = parse_pitch(text)
        return resolve_written(request, transposition=kind.transposition, tuning=tuning)
    except UnreadablePitch as error:
        raise click.UsageError(
            f"TARGET can't be read.\n{point_at(text, error.position)}\n{error}"
        ) from error
    except AnalysisError as error:
        raise click.UsageError(str(error)) from error


def read_fingering(text: str, layout: Layout, *, place: str = "FINGERING") -> KeyStates:
    """Read a fingering that two hands can hold; `place` is where it was typed."""
    try:
        fingering = parse_fingering(text, layout)
        check_playable(fingering)
    except UnreadableFingering as error:
        raise click.UsageError(
            f"{place} can't be read.\n{point_at(text, error.position)}\n{error}"
        ) from error
    except ImpossibleFingering as error:
        raise click.UsageError(f"{place} can't be played.\n  {text}\n{error}") from error
    return fingering


def point_at(text: str, position: int) -> str:
    """Show a text with a caret below one character; one column a character."""
    shown = "".join(each if each.isprintable() else "?" for each in text)
    return f"  {shown}\n  {' ' * position}^"
