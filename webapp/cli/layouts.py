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
)
from analysis.pitch import KINDS, format_pitch


@click.command()
@click.option("--json", "is_json", is_flag=True, help="One JSON list instead of text.")
def layouts(*, is_json: bool) -> None:
    """List the keywork layouts: instruments served, keys, lowest note, where they come from."""
    found = [load_layout(layout_id) for layout_id in layout_ids()]
    if is_json:
        described = [_describe(layout) for layout in found]
        click.echo(json.dumps(described, ensure_ascii=False, indent=2))
        return
    click.echo("\n\n".join(_write(layout) for layout in found))


def _describe(layout: Layout) -> dict[str, object]:
    return {
        "id": layout.id,
        "version": layout.version,
        "name": layout.name,
        "instruments": [{"id": each, "name": KINDS[each].name} for each in layout.kinds],
        "lowest_written": layout.lowest.canonical,
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


def _write(layout: Layout) -> str:
    keys = ", ".join(f"{key.name} ({key.token})" for key in layout.keys)
    lines = [
        f"{layout.id}: {layout.name}",
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
    return "\n".join([*lines, f"  provenance  {layout.provenance}"])
