"""Small scores drawn in letters, written out as MEI.

f5/4      a quarter F5           f#5/8.   an F with a printed sharp, dotted eighth
c4+e4/2   a chord                r/4 s/4  rest, space           R   rest for the whole bar
~g5/8     a grace note           f5/4_    tied to the next      q=f5/4   with xml:id "q"
(3:2 c4/8 d4/8 e4/8)             a tuplet
"""

from __future__ import annotations

import re
from pathlib import Path

from pipeline.edition.model import FiledRecord, Origins
from pipeline.problems import Origin, Problem
from pipeline.score.model import Event, Movement, Passage, Score
from pipeline.score.pitch_names import scientific
from pipeline.score.read import read_passage

NAMED_HERE = Origin("edition.yaml", 7, 3)
_NOTE = re.compile(r"^(?P<step>[a-g])(?P<accid>##|#|b{1,2}|n|x)?(?P<oct>\d)$")
_TOKEN = re.compile(
    r"^(?:(?P<id>\w+)=)?(?P<grace>~)?(?P<body>[^/_]+)/(?P<dur>\d+|breve)(?P<dots>\.*)(?P<tie>_)?$"
)
_ACCID = {"#": "s", "##": "x", "x": "x", "b": "f", "bb": "ff", "n": "n"}


def mei(
    *bars: str | tuple[str, ...],
    key: str = "0",
    meter: str = "4/4",
    labels: tuple[str, ...] = ("Violin",),
    extra: dict[int, str] | None = None,
    numbers: tuple[str, ...] = (),
    staff_def: str = "",
) -> bytes:
    """Write bars as MEI 5.1; a bar is one staff's text, or one text a staff; voices parted by |.

    `extra` holds MEI that stands in a bar after its staves, by bar index.
    """
    count, unit = meter.split("/")
    staves = "".join(
        f'<staffDef n="{n}" lines="5" clef.shape="G" clef.line="2" {staff_def}>'
        f"<label>{label}</label></staffDef>"
        for n, label in enumerate(labels, 1)
    )
    written = ""
    for index, bar in enumerate(bars):
        n = numbers[index] if numbers else str(index + 1)
        content = "".join(
            f'<staff n="{s}">{_layers(text)}</staff>'
            for s, text in enumerate((bar,) if isinstance(bar, str) else bar, 1)
        )
        written += f'<measure n="{n}">{content}{(extra or {}).get(index, "")}</measure>\n'
    return document(
        f'<scoreDef keysig="{key}" meter.count="{count}" meter.unit="{unit}">'
        f"<staffGrp>{staves}</staffGrp></scoreDef>\n<section>\n{written}</section>"
    )


def document(score: str, version: str = "5.1") -> bytes:
    """Write a whole MEI document around the content of a `score`."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="{version}">'
        "<meiHead><fileDesc><titleStmt><title/></titleStmt><pubStmt/></fileDesc></meiHead>"
        f"<music><body><mdiv><score>{score}</score></mdiv></body></music></mei>\n"
    ).encode()


def read(folder: Path, data: bytes, prefix: str = "", name: str = "music.mei") -> Passage:
    """Read a drawn score that must read without any problem."""
    passage, problems = read_with_problems(folder, data, prefix, name)
    assert problems == ()
    assert passage is not None
    return passage


def read_with_problems(
    folder: Path, data: bytes, prefix: str = "", name: str = "music.mei"
) -> tuple[Passage | None, tuple[Problem, ...]]:
    (folder / name).write_bytes(data)
    outcome = read_passage(folder, name, NAMED_HERE, prefix)
    return outcome.value, outcome.problems


def told(problems: tuple[Problem, ...]) -> list[str]:
    """Write problems as `line code: place: message`."""
    return [
        f"{p.origin.line} {p.code}: " + (f"{p.place}: " if p.place else "") + p.message
        for p in problems
    ]


def sounding(events: tuple[Event, ...]) -> str:
    """Write events as they sound: pitch or kind, at onset, for so many quarters."""
    return " ".join(
        ("+".join(scientific(p) for p in e.pitches) or e.kind.value) + f"@{e.onset}:{e.duration}"
        for e in events
    )


def pitches(events: tuple[Event, ...]) -> str:
    """Write the pitches of the notes and chords alone."""
    return " ".join("+".join(scientific(p) for p in e.pitches) for e in events if e.heads)


def one_movement(passage: Passage) -> Score:
    return Score((Movement(1, "", passage),))


def filed_at(line: int = 3) -> FiledRecord:
    """Return a record that is only known by where it stands."""
    record: FiledRecord = FiledRecord.__new__(FiledRecord)
    object.__setattr__(record, "origins", Origins({(): Origin("records/a.yaml", line)}))
    return record


def _layers(text: str) -> str:
    return "".join(
        f'<layer n="{n}">{_tokens(voice.split())}</layer>'
        for n, voice in enumerate(text.split("|"), 1)
    )


def _tokens(tokens: list[str]) -> str:
    written = ""
    for token in tokens:
        if token.startswith("("):
            num, base = token[1:].split(":")
            written += f'<tuplet num="{num}" numbase="{base}">'
        elif token.endswith(")"):
            written += _token(token[:-1]) + "</tuplet>"
        else:
            written += _token(token)
    return written


def _token(token: str) -> str:
    if token == "R":
        return "<mRest/>"
    found = _TOKEN.match(token)
    assert found is not None, token
    attributes = f'dur="{found["dur"]}"'
    if found["dots"]:
        attributes += f' dots="{len(found["dots"])}"'
    if found["id"]:
        attributes += f' xml:id="{found["id"]}"'
    if found["grace"]:
        attributes += ' grace="acc"'
    tie = ' tie="i"' if found["tie"] else ""
    body = found["body"]
    if body in {"r", "s"}:
        return f"<{'rest' if body == 'r' else 'space'} {attributes}/>"
    notes = body.split("+")
    if len(notes) == 1:
        return f"<note {_pitch(notes[0])} {attributes}{tie}/>"
    inner = "".join(f"<note {_pitch(note)}{tie}/>" for note in notes)
    return f"<chord {attributes}>{inner}</chord>"


def _pitch(note: str) -> str:
    found = _NOTE.match(note)
    assert found is not None, note
    accid = f' accid="{_ACCID[found["accid"]]}"' if found["accid"] else ""
    return f'pname="{found["step"]}" oct="{found["oct"]}"{accid}'
