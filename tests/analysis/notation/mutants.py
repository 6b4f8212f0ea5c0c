"""Damaged score files by the thousand: made from seeds and read in one process with limits.

Run as `python -m tests.analysis.notation.mutants FIRST LAST`: it reads the mutants as the child
process does, then as a part, and prints how each came out, the slowest in seconds and the peak of
memory, as JSON.
"""

from __future__ import annotations

import json
import random
import re
import sys
import time
from collections import Counter
from collections.abc import Callable
from functools import cache

from analysis.notation.child import MAX_MEMORY_BYTES
from analysis.notation.transcript import from_plain
from analysis.sandbox.limits import limit_resources
from analysis.score import ScoreError, read_part
from tests.analysis.notation.mei_files import measure, mei
from tests.analysis.notation.scores import (
    answer,
    attributes,
    bar,
    note,
    pack,
    rest,
    score,
    transpose,
    words,
)

CPU_S = 240
STRANGE = (
    "", "0", "-1", "1e9", "999999999999999999999", "NaN", "½", "\x7f", "-0.333333", "&#0;",
    "x" * 3000,
)  # fmt: skip
Mutation = Callable[[bytearray, random.Random], None]


@cache
def make_originals() -> tuple[bytes, ...]:
    """Score files with a bit of everything, in several forms."""
    trill = "<ornaments><trill-mark/><accidental-mark>natural-up</accidental-mark></ornaments>"
    tremolo = '<ornaments><tremolo type="start">3</tremolo></ornaments>'
    slur = '<slur type="{}" number="1"/>'
    fingering = "<technical><fingering>T 12</fingering><harmonic/></technical>"
    key = "<key><key-step>B</key-step><key-alter>-0.5</key-alter></key>"
    repeats = '<barline><ending number="1" type="start"/><repeat direction="backward"/></barline>'
    tempo = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>60"
        "</per-minute></metronome></direction-type><offset>1</offset></direction>"
    )
    bars = (
        bar(
            words("slap"), note("D5 -0.5", "quarter-flat"), tempo,
            note("D5", notations=slur.format("start")),
            note("E5 0.25", "natural-up", notations=trill),
        ),
        bar(
            attributes(key + transpose("-2 -3")), note("C5", more='<tie type="start"/>'), rest(),
            note("F5", more="<chord/>", notations=fingering), repeats, number="X2",
        ),
        bar(
            note("C5", more='<tie type="stop"/>', notations=slur.format("stop")),
            note("B4", duration=None, before="<grace/>"), note("A4", notations=tremolo),
            note("G4", notations=tremolo.replace("start", "stop")),
            "<backup><duration>2</duration></backup>", note("E4", voice="2", before="<cue/>"),
            note("D4", "slash-flat", voice="2", staff=2), number="3",
        ),
    )  # fmt: skip
    plain = score(*bars)
    utf_16 = plain.decode().replace('encoding="UTF-8"', 'encoding="UTF-16"').encode("utf-16")
    return (plain, plain, utf_16, pack({"a.xml": plain}, container="a.xml"), *make_mei())


def make_mei() -> tuple[bytes]:
    """An MEI file with a bit of everything."""
    layer = (
        '<note xml:id="a" pname="d" oct="5" dur="8" accid="1qf"/>'
        '<tuplet num="3" numbase="2"><note pname="e" oct="5" dur="8" grace="acc"/>'
        '<chord dur="8"><note pname="d" oct="4"/><note pname="a" oct="4"><accid accid="nu"/></note>'
        "</chord></tuplet><mRest/><fTrem>"
        '<note pname="c" oct="5" dur="4"/><note pname="f" oct="5" dur="4"/></fTrem>'
    )
    beside = (
        '<slur startid="#a" endid="#b"/><trill startid="#b" accidupper="f"/>'
        '<tempo midi.bpm="60">slow</tempo><dynam tstamp="1">pp</dynam>'
    )
    second = '<note xml:id="b" pname="f" oct="5" dur="2" dots="1" tie="i"/>'
    return (mei(measure(layer, beside), measure(second, number="2")),)


def make_mutant(number: int) -> bytes:
    """The mutant of this number: one to three mutations; every other of XML stays well-formed."""
    chance = random.Random(number)
    originals = make_originals()
    content = bytearray(originals[number % len(originals)])
    is_plain = number % len(originals) in (0, 1, 4)
    choices = IN_XML if is_plain and chance.random() < 0.7 else IN_BYTES
    for _ in range(chance.randrange(1, 4)):
        chance.choice(choices)(content, chance)
    return bytes(content)


def change_bytes(content: bytearray, chance: random.Random) -> None:
    for _ in range(chance.randrange(1, 12)):
        content[chance.randrange(len(content))] = chance.randrange(256)


def flip_bit(content: bytearray, chance: random.Random) -> None:
    content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)


def cut_off(content: bytearray, chance: random.Random) -> None:
    del content[max(20, chance.randrange(len(content))) :]


def leave_out(content: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(content))
    if len(content) > 200:
        del content[at : at + chance.randrange(1, 100)]


def repeat(content: bytearray, chance: random.Random) -> None:
    at = chance.randrange(len(content))
    content[at:at] = content[at : at + chance.randrange(1, 500)]


def change_text(content: bytearray, chance: random.Random) -> None:
    """Another text, or a strange one, in some element."""
    _replace_some(content, chance, rb"(?<=>)[^<>]+(?=<)", lambda: chance.choice(STRANGE).encode())


def change_attribute(content: bytearray, chance: random.Random) -> None:
    _replace_some(content, chance, rb'(?<==")[^"<>]*(?=")', lambda: chance.choice(STRANGE).encode())


def change_tag(content: bytearray, chance: random.Random) -> None:
    """Call all elements of one name by the name of others."""
    names = sorted(set(re.findall(rb"<([a-z][a-z-]*)", bytes(content))))
    if len(names) > 1:
        old, new = chance.sample(names, 2)
        content[:] = re.sub(rb"(</?)%s(?=[ />])" % re.escape(old), rb"\1" + new, bytes(content))


def drop_element(content: bytearray, chance: random.Random) -> None:
    _replace_some(content, chance, rb"<([a-z-]+)[^<>]*>[^<>]*</\1>", lambda: b"")


def double_element(content: bytearray, chance: random.Random) -> None:
    found = list(re.finditer(rb"<([a-z-]+)[^<>]*>[^<>]*</\1>", bytes(content)))
    if found:
        chosen = chance.choice(found)
        content[chosen.end() : chosen.end()] = chosen[0] * chance.randrange(1, 40)


def _replace_some(
    content: bytearray, chance: random.Random, pattern: bytes, new: Callable[[], bytes]
) -> None:
    found = list(re.finditer(pattern, bytes(content)))
    if found:
        chosen = chance.choice(found)
        content[chosen.start() : chosen.end()] = new()


IN_BYTES: tuple[Mutation, ...] = (change_bytes, flip_bit, cut_off, leave_out, repeat)
IN_XML: tuple[Mutation, ...] = (
    change_text,
    change_attribute,
    change_tag,
    drop_element,
    double_element,
)


def read_mutant(content: bytes) -> str:
    """How a mutant comes out: read, or the name of its refusal."""
    told = answer(content)
    if "refused" in told:
        return (
            f"{told['refused']}: {told['detail']}"
            if told["refused"] == "fault"
            else told["refused"]
        )
    try:
        read_part(from_plain(json.loads(json.dumps(told["read"]))))
    except ScoreError as refusal:
        return type(refusal).__name__
    return "read"


def main(first: int, last: int) -> None:
    """Read the mutants and print how they came out."""
    limit_resources(1 << 20, CPU_S, MAX_MEMORY_BYTES)
    outcomes: Counter[str] = Counter()
    slowest = 0.0
    for number in range(first, last):
        began = time.process_time()
        outcomes[read_mutant(make_mutant(number))] += 1
        slowest = max(slowest, time.process_time() - began)
    sys.stdout.write(json.dumps({"outcomes": outcomes, "slowest_s": slowest}))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
