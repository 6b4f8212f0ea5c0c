"""Options that commands about fingerings share: the keywork, and what is asked of the finder."""

from collections.abc import Callable
from functools import wraps
from typing import NamedTuple

import click

from analysis.keywork import Layout, RightThumb, customise, right_thumb_choices
from analysis.pitch import InstrumentKind
from webapp.cli.options import (
    json_option,
    kind_option,
    layout_option,
    name_option,
    own_option,
    tuning_option,
    with_option,
)
from webapp.cli.reading import add_keys, choose_layout

_KEYWORK = (layout_option, with_option)
_FINDER = (own_option, name_option, json_option)
thumb_option = click.option(
    "--right-thumb",
    type=click.Choice([each.value for each in RightThumb]),
    default=None,
    help="What it does: "
    + "; ".join(f"{each.value}: it {each.words}" for each in RightThumb)
    + ". Left out, what is usual for the keywork.",
)


class KeyworkChoice(NamedTuple):
    """The keywork that a command is asked about, as far as it was said."""

    wanted: str = ""
    with_keys: tuple[str, ...] = ()
    right_thumb: RightThumb | None = None

    def find_layout(self, kind: InstrumentKind) -> Layout:
        """Find the layout with its further keys, as the instrument is held."""
        layout = add_keys(choose_layout(kind, self.wanted), self.with_keys)
        if self.right_thumb is None:
            return layout
        choices = right_thumb_choices(layout)
        if self.right_thumb not in choices:
            known = ", ".join(choices) or "none: it reaches no key"
            raise click.UsageError(f"--right-thumb: on {layout.name} choose one of {known}.")
        return customise(
            layout,
            without=layout.without,
            names=dict(layout.renamed),
            right_thumb=self.right_thumb,
        )

    def refuse_beside_own(self, *, is_own: bool) -> None:
        """Refuse what an instrument of the notebook says already.

        Raises:
            UsageError: `--own` is given, and more than the layout.
        """
        if is_own and self.with_keys:
            raise click.UsageError(
                "--with: an instrument of your own says itself which keys it has."
            )
        if is_own and self.right_thumb is not None:
            raise click.UsageError(
                "--right-thumb: an instrument of your own says itself what the thumb does."
            )


def keywork_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options that choose a keywork; the command gets `keywork`, a `KeyworkChoice`."""

    @wraps(command)
    def choosing(
        *, wanted: str, with_keys: tuple[str, ...], right_thumb: str | None, **others: object
    ) -> None:
        thumb = None if right_thumb is None else RightThumb(right_thumb)
        command(keywork=KeyworkChoice(wanted, with_keys, thumb), **others)

    return _add(choosing, (*_KEYWORK, thumb_option))


def finder_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add all that says which instrument and whose: kind, tuning, keywork, the player's own, JSON.

    The command gets `kind_text`, `tuning_hz`, `keywork`, `is_own`, `name` and `is_json`.
    """
    return _add(keywork_options(_add(command, _FINDER)), (kind_option, tuning_option))


def _add(
    command: Callable[..., None], options: tuple[Callable[..., Callable[..., None]], ...]
) -> Callable[..., None]:
    for option in reversed(options):
        command = option(command)
    return command
