"""Small scores, their copies with mistakes, and records of all kinds, drawn by hypothesis."""

from __future__ import annotations

from hypothesis import strategies as st

from tests.layers.letters import HEAD, mei
from tests.layers.small_edition import Row

PITCHES = st.sampled_from(["c5", "d5", "e5", "f#5", "bb4", "a4", "g5"])

GROUPS: dict[int, list[str]] = {
    1: ["X/4", "[X/8 X/8]", "(X/8 X/8 X/8)", "~X/8 X/4", "r/4", "c4+X/4", "[X/8. X/16]"],
    2: ["X/2", "[X/8 X/8 X/8 X/8]", "(X/4 X/4 X/4)", "[X/8 (X/16 X/16 X/16) X/4]", "s/2"],
    4: ["X/1", "<mRest/>"],
}
"""Ways to fill so many quarters; X is any pitch. A wrapped group is the base text's own mark-up."""

OWN_MARK_UP = [
    "G",
    "G",
    "G",
    "<app> <lem> G </lem> <rdg> r/1 </rdg> </app>",
    '<supplied resp="#somebody" reason="base"> G </supplied>',
    "<choice> <corr> G </corr> <sic> r/1 </sic> </choice>",
]

OWN_HEAD = HEAD.replace(
    "<pubStmt/></fileDesc>",
    '<pubStmt/><sourceDesc><source xml:id="old"><bibl>An old print</bibl></source></sourceDesc>'
    "</fileDesc><encodingDesc><classDecls><taxonomy><category xml:id='kind'/></taxonomy>"
    "</classDecls></encodingDesc>",
).replace(
    "</titleStmt>", '<respStmt><persName xml:id="somebody" role="edt"/></respStmt></titleStmt>'
)

OWN_ATTRIBUTES = [
    "",
    "",
    ' type="layer-editor"',
    ' type="one two" class="#kind"',
    ' resp="#somebody" label="its own"',
]


Bars = list[tuple[tuple[str, ...], ...]]
"""The bars of one staff, the groups of each voice."""


@st.composite
def _voice(draw: st.DrawFn) -> tuple[str, ...]:
    left, groups = 4, []
    while left:
        length = draw(st.sampled_from([n for n in GROUPS if n <= left]))
        groups.append(_pitched(draw, draw(st.sampled_from(GROUPS[length]))))
        left -= length
    return tuple(groups)


def _pitched(draw: st.DrawFn, group: str) -> str:
    while "X" in group:
        group = group.replace("X", draw(PITCHES), 1)
    return group


bars = st.lists(st.lists(_voice(), min_size=1, max_size=2).map(tuple), min_size=2, max_size=3)


@st.composite
def copies(draw: st.DrawFn, text: Bars) -> Bars:
    """Return the bars with some voices written otherwise, some groups in other pitches."""
    copied = []
    for bar in text:
        voices = []
        for voice in bar:
            match draw(st.integers(0, 5)):
                case 0:
                    voices.append(draw(_voice()))
                case 1 | 2:
                    at = draw(st.integers(0, len(voice) - 1))
                    changed = voice[at].replace("c5", "d5").replace("a4", "b4").replace("g5", "e5")
                    voices.append((*voice[:at], changed, *voice[at + 1 :]))
                case 3 if len(voice) > 1:
                    at = draw(st.integers(0, len(voice) - 1))
                    silent = voice[at][0] in "rs<"  # a rest that is not written is still silence
                    kept = voice[at : at + 1] if silent else ()
                    voices.append((*voice[:at], *kept, *voice[at + 1 :]))
                case _:
                    voices.append(voice)
        if len(voices) > 1 and draw(st.integers(0, 6)) == 0:
            voices.pop()
        copied.append(tuple(voices))
    return copied


@st.composite
def written(draw: st.DrawFn, text: Bars, own_mark_up: bool) -> bytes:
    """Write bars as MEI with slurs, dynamics and fingerings on their notes, some of them own."""
    named: list[tuple[int, str]] = []
    drawn: list[str] = []
    for number, bar in enumerate(text, 1):
        voices = []
        for v, voice in enumerate(bar, 1):
            groups = []
            for g, group in enumerate(voice, 1):
                parts = []
                for p, part in enumerate(_tokens(group), 1):
                    name = f"n{number}.{v}.{g}.{p}"
                    if part.strip("[]()")[:1] in set("abcdefg") and "/" in part:
                        opened = part[: len(part) - len(part.lstrip("[("))]
                        parts.append(f"{opened}{name}={part[len(opened) :]}")
                        named.append((number, name))
                    else:
                        parts.append(part)
                inner = " ".join(parts)
                if own_mark_up:
                    inner = draw(st.sampled_from(OWN_MARK_UP)).replace("G", inner)
                groups.append(inner)
            voices.append(" ".join(groups))
        drawn.append(" // ".join(voices))
    signs: dict[int, str] = {}
    for _ in range(draw(st.integers(0, 4)) if len(named) > 1 else 0):
        start = draw(st.integers(0, len(named) - 2))
        after = [n for _, n in named[start + 1 :] if _voice_of(n) == _voice_of(named[start][1])]
        end = draw(st.sampled_from(after)) if after else ""
        own = draw(st.sampled_from(OWN_ATTRIBUTES)) if own_mark_up else ""
        bar, name = named[start]
        sign = draw(
            st.sampled_from(
                [
                    f'<slur startid="#{name}" endid="#{end}"{own}/>' if end else "",
                    f'<dynam startid="#{name}"{own}>f</dynam>',
                    f'<dynam staff="1" tstamp="2"{own}>p</dynam>',
                    f'<fing startid="#{name}"{own}>2</fing>',
                    f'<hairpin form="cres" staff="1" tstamp="1" tstamp2="0m+3"{own}/>',
                ]
            )
        )
        signs[bar] = signs.get(bar, "") + "\n" + sign
    return mei(*drawn, signs=signs, head=OWN_HEAD if own_mark_up else HEAD)


def _voice_of(name: str) -> str:
    return name.split(".")[1]


def _tokens(group: str) -> list[str]:
    return group.split(" ")


@st.composite
def records(draw: st.DrawFn, bar_count: int, notes: dict[int, int], files: list[str]) -> list[Row]:
    """Return records of all kinds at random places; `notes` counts the notes of each bar."""
    rows = []
    for number in range(draw(st.integers(1, 7))):
        row = draw(_record(bar_count, notes, files))
        row["id"] = f"r{number}"
        row["date"] = f"2026-0{draw(st.integers(1, 9))}-15"
        row["by"] = draw(st.sampled_from(["editor", "custom", "composer"]))
        row["status"] = draw(st.sampled_from(["accepted"] * 5 + ["proposed"]))
        rows.append(row)
    return rows


@st.composite
def _place(draw: st.DrawFn, bar_count: int, notes: dict[int, int]) -> Row:
    first = draw(st.integers(1, bar_count))
    row: Row = {"movement": 1, "bar": first}
    if notes[first] and draw(st.booleans()):
        note = draw(st.integers(1, notes[first]))
        row["note"] = note
        row["to"] = {"note": draw(st.integers(note, notes[first]))}
    else:
        row["to"] = {"bar": draw(st.integers(first, bar_count))}
    return row


FINGERS = st.sampled_from(["1", "2", "3 on G", "open", "none", "touch 4", "1 touch 4", ["1", "4"]])


@st.composite
def _record(draw: st.DrawFn, bar_count: int, notes: dict[int, int], files: list[str]) -> Row:
    row: Row = {"place": draw(_place(bar_count, notes))}
    witnesses = st.lists(st.sampled_from(["V", "W"]), min_size=1, max_size=2, unique=True)
    match draw(st.integers(0, 9)):
        case 0 | 1 | 2:
            taken = [{"witnesses": [w]} for w in draw(witnesses)]
            row |= {"kind": "reading", "lemma": ["T"], "readings": taken}
        case 3:
            taken = [{"witnesses": [w]} for w in draw(witnesses)]
            row |= {"kind": "emendation", "readings": taken, "certainty": "high"}
        case 4:
            row |= {"kind": "emendation", "readings": [{"witnesses": ["T"], "says": "a blot"}]}
        case 5:
            fingers = draw(st.lists(FINGERS, min_size=1, max_size=5))
            row |= {
                "kind": "fingering",
                "composer_fingering": draw(st.sampled_from(["none", "kept"])),
                "alternatives": [
                    {"name": "a", "fingers": fingers},
                    {"name": "b", "fingers": fingers[::-1], "by": "custom"},
                ],
                "printed": draw(st.sampled_from([["a"], ["b", "a"]])),
            }
        case 6:
            signs = draw(st.dictionaries(st.integers(1, 4), st.sampled_from(["up", "down"])))
            bow = {"name": "a", "signs": signs, "join": draw(st.booleans())}
            bow["divide_after"] = draw(st.lists(st.integers(1, 4), max_size=2))
            row |= {"kind": "bowing", "alternatives": [bow]}
        case 7:
            row |= {"kind": "ossia", "music": {"file": draw(st.sampled_from(files))}}
        case 8:
            row |= {"kind": "tradition", "music": {"file": draw(st.sampled_from(files))}}
            row |= {"origin": "as heard", "note": "not the composer's"}
        case _:
            row |= {"kind": "remark"}
    return row
