"""Vented plates: a key state of its own in kept key texts and own layouts; the top of a range.

Until now a plate with a small hole of its own was written as a half-hole, `(1)`, and was a kind
of key, `half-plate`. It is a plate whose third state is `vented`, written `[1]`. Which keys these
are is told by the texts of own layouts themselves, and for shipped layouts by the list below, as
they were when this revision was written. What is derived from keys is filled by the upkeep.
"""

import re
from collections.abc import Callable

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

# The left first finger's plate, on each of these.
_SHIPPED = (
    "alto-low-eb",
    "bass-low-c",
    "bass-low-eb",
    "bass-low-eb-two-register-keys",
    "contra-low-c",
    "contra-low-eb",
)
_TEXTS = (("fingering", "keys_text"), ("fingering", "base_keys_text"),
          ("suggestion", "keys_text"), ("suggestion", "base_keys_text"))  # fmt: skip
_BLOCK = re.compile(r"(?m)^(?=\[)")
_STATES = re.compile(r"(?m)^states = .*$")
_KEYS_TEXT = re.compile(r'(?m)^text = "((?:[^"\\\n]|\\.)*)"$')

# The tokens of the vented plates of each hand, left and right.
_Tokens = tuple[frozenset[str], frozenset[str]]
_LEFT_FIRST: _Tokens = (frozenset({"1"}), frozenset())


def upgrade() -> None:
    """Write vented plates as what they are; the top of an instrument's range is the player's."""
    op.add_column("instrument", sa.Column("highest_text", sa.String(length=40), nullable=True))
    tokens: dict[str, _Tokens] = dict.fromkeys(_SHIPPED, _LEFT_FIRST)
    for layout_id, toml in _own_layouts():
        tokens[layout_id], carried = _carry_layout(toml)
        _keep_layout(layout_id, toml, carried)
    for instrument_id, layout_id in _instruments():
        if layout_id in tokens:
            carry = _to_vented(tokens[layout_id])
            for table, column in _TEXTS:
                _rewrite(table, column, instrument_id, carry)


def downgrade() -> None:
    """Write vented plates as half-holes again, as the earlier program reads them."""
    for layout_id, toml in _own_layouts():
        _keep_layout(layout_id, toml, _return_layout(toml))
    for instrument_id, _ in _instruments():
        for table, column in _TEXTS:
            _rewrite(table, column, instrument_id, _to_half_hole)
    op.execute("DELETE FROM upkeep WHERE name = 'keys'")  # holes were signed otherwise
    with op.batch_alter_table("instrument") as instrument:
        instrument.drop_column("highest_text")


def _own_layouts() -> list[tuple[str, str]]:
    found = op.get_bind().execute(sa.text("SELECT id, toml FROM own_layout ORDER BY id"))
    return [(row[0], row[1]) for row in found]


def _keep_layout(layout_id: str, before: str, after: str) -> None:
    if after != before:
        query = sa.text("UPDATE own_layout SET toml = :toml WHERE id = :id")
        op.get_bind().execute(query, {"toml": after, "id": layout_id})


def _instruments() -> list[tuple[int, str]]:
    query = "SELECT id, coalesce(own_layout_id, layout_id) FROM instrument ORDER BY id"
    return [(row[0], row[1]) for row in op.get_bind().execute(sa.text(query))]


def _rewrite(table: str, column: str, instrument_id: int, carry: Callable[[str], str]) -> None:
    bind = op.get_bind()
    query = f"SELECT id, {column} FROM {table} WHERE instrument_id = :of AND {column} IS NOT NULL"
    rows = bind.execute(sa.text(query), {"of": instrument_id}).all()
    changed = [{"id": row[0], "text": carry(row[1])} for row in rows if carry(row[1]) != row[1]]
    if changed:
        bind.execute(sa.text(f"UPDATE {table} SET {column} = :text WHERE id = :id"), changed)


def _to_vented(tokens: _Tokens) -> Callable[[str], str]:
    """Make what writes a kept text anew: hands stand before the first two bars."""

    def carry(text: str) -> str:
        hands = text.split(" | ")
        for place, of_hand in enumerate(tokens[: len(hands)]):
            for token in of_hand:
                hands[place] = hands[place].replace(f"({token})", f"[{token}]")
        return " | ".join(hands)

    return carry


def _to_half_hole(text: str) -> str:
    return text.replace("[", "(").replace("]", ")")


def _carry_layout(toml: str) -> tuple[_Tokens, str]:
    """Carry over the text of a layout, as the program writes it; tell its vented plates."""
    blocks = _BLOCK.split(toml)
    vented = [block for block in blocks if _is_plate(block) and '"shaded"' in _states(block)]
    left = frozenset(_field(block, "token") for block in vented if _field(block, "hand") == "left")
    right = frozenset(_field(block, "token") for block in vented if _field(block, "hand") != "left")
    carried = [
        _with_states(_with_kind(block, "half-plate", "plate"), '"shaded"', '"vented"')
        if _is_plate(block)
        else block
        for block in blocks
    ]
    return (left, right), _with_texts(carried, _to_vented((left, right)))


def _return_layout(toml: str) -> str:
    blocks = [
        _with_states(_with_kind(block, "plate", "half-plate"), '"vented"', '"shaded"')
        if _is_plate(block) and '"vented"' in _states(block)
        else block
        for block in _BLOCK.split(toml)
    ]
    return _with_texts(blocks, _to_half_hole)


def _is_plate(block: str) -> bool:
    return block.startswith("[[keys]]") and _field(block, "kind") in {"plate", "half-plate"}


def _states(block: str) -> str:
    return "".join(_STATES.findall(block))


def _with_kind(block: str, before: str, after: str) -> str:
    return block.replace(f'\nkind = "{before}"\n', f'\nkind = "{after}"\n')


def _with_texts(blocks: list[str], carry: Callable[[str], str]) -> str:
    def write(block: str) -> str:
        if not block.startswith("[[fingerings]]"):
            return block
        return _KEYS_TEXT.sub(lambda match: f'text = "{carry(match[1])}"', block)

    return "".join(map(write, blocks))


def _with_states(block: str, before: str, after: str) -> str:
    return _STATES.sub(lambda match: match[0].replace(before, after), block)


def _field(block: str, name: str) -> str:
    found = re.search(rf'(?m)^{name} = "(.*)"$', block)
    return found[1] if found else ""
