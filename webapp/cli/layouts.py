"""`quartervent layouts`: which keywork is there, and what its keys are called."""

import json

import click

from analysis.keywork import (
    Key,
    Layout,
    layout_ids,
    load_layout,
    optional_keys,
    ordinary_fingerings,
    right_thumb_choices,
)
from analysis.pitch import KINDS, format_pitch
from webapp.cli.own_layouts import read_own_layouts


@click.command()
@click.option("--json", "is_json", is_flag=True, help="One JSON list instead of text.")
def layouts(*, is_json: bool) -> None:
    """List the keywork layouts: instruments served, keys, lowest note, where they come from.

    Those of your own come first. The notebook is only looked at.
    """
    own = _read_own()
    shipped = [load_layout(layout_id) for layout_id in layout_ids()]
    if is_json:
        described = [
            *(_describe(layout, is_own=True) for layout in own),
            *(_describe(layout, is_own=False) for layout in shipped),
        ]
        click.echo(json.dumps(described, ensure_ascii=False, indent=2))
        return
    written = [
        *(_write(layout, mark=" (your own)") for layout in own),
        *(_write(layout) for layout in shipped),
    ]
    click.echo("\n\n".join(written))


def _read_own() -> tuple[Layout, ...]:
    """Read the player's own; a notebook that can't be read keeps nobody from the shipped ones."""
    try:
        return read_own_layouts()
    except click.ClickException as error:
        click.echo(error.message, err=True)
        return ()


def _describe(layout: Layout, *, is_own: bool) -> dict[str, object]:
    return {
        "id": layout.id,
        "is_own": is_own,
        "version": layout.version,
        "name": layout.name,
        "instruments": [{"id": each, "name": KINDS[each].name} for each in layout.kinds],
        "lowest_written": layout.lowest.canonical,
        "right_thumb": layout.right_thumb.value,
        "right_thumb_choices": [one.value for one in right_thumb_choices(layout)],
        "ordinary_fingerings": len(ordinary_fingerings(layout)),
        "keys": [_describe_key(key, layout) for key in layout.complete.keys],
        "provenance": layout.provenance,
    }


def _describe_key(key: Key, layout: Layout) -> dict[str, object]:
    return {
        "id": key.id,
        "name": key.name,
        "typed": key.token,
        "aliases": key.aliases,
        "hand": key.hand,
        "finger": key.finger,
        "acts": key.acts,
        "states": key.states,
        "is_optional": key.is_optional,
        "is_fitted": layout.has_key(key.id),
    }


def _write(layout: Layout, mark: str = "") -> str:
    keys = ", ".join(f"{key.name} ({key.token})" for key in layout.keys)
    lines = [
        f"{layout.id}: {layout.name}{mark}",
        f"  serves      {'; '.join(KINDS[each].name for each in layout.kinds)}",
        f"  lowest      {format_pitch(layout.lowest)}, written",
        f"  ordinary    {len(ordinary_fingerings(layout))} fingerings",
        f"  keys        {len(layout.keys)}: {keys}",
    ]
    can_lack = ", ".join(
        key.name if layout.has_key(key.id) else f"{key.name} (usually missing)"
        for key in optional_keys(layout)
    )
    if can_lack:
        lines.append(f"  optional    {can_lack}")
    choices = right_thumb_choices(layout)
    if choices:
        others = ", ".join(one.value for one in choices if one is not layout.right_thumb)
        usual = f"{layout.right_thumb.value}: it {layout.right_thumb.words}"
        lines.append(f"  right thumb {usual} (or {others})")
    return "\n".join([*lines, f"  provenance  {layout.provenance}"])
