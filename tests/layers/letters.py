"""Music in letters for the layers' tests, and layered music told in letters again.

f5/4  f#5/8.  r/2  s/4     notes, rests, spaces       c4+e4/2      a chord
~g5/8                      a grace note               q=f5/4       with xml:id "q"
[c5/8 d5/8]                a beam                     (c5/8 d5/8 e5/8)  a triplet
a // b                     two voices                 <...>        MEI as it is
"""

from __future__ import annotations

import re

from lxml import etree

from pipeline.score.mei_names import XML_ID, Element, local

_NOTE = re.compile(r"^(?P<step>[a-g])(?P<accid>#|b|n)?(?P<oct>\d)$")
_TOKEN = re.compile(
    r"^(?:(?P<id>[\w.-]+)=)?(?P<grace>~)?(?P<body>[^/]+)/(?P<dur>\d+)(?P<dots>\.*)$"
)
_ACCID = {"#": "s", "b": "f", "n": "n"}
_SIGN = {"s": "#", "f": "b", "n": "n"}
_PARTS = re.compile(r"<!--.*?-->|<[^>]+>|[\[\]()]|[^\s\[\]()<]+")

HEAD = (
    "<meiHead><fileDesc><titleStmt><title>drawn</title></titleStmt><pubStmt/></fileDesc></meiHead>"
)


def mei(*bars: str | tuple[str, ...], signs: dict[int, str] | None = None, key: str = "0",
        head: str = HEAD, first: int = 1) -> bytes:  # fmt: skip
    """Return MEI of bars; a bar is the text of one staff or a text for each; 4/4 throughout.

    `signs` is MEI that stands in a bar after its staves, by printed number.
    """
    count = max(1 if isinstance(bar, str) else len(bar) for bar in bars)
    staves = "".join(
        f'<staffDef n="{n}" lines="5" clef.shape="G" clef.line="2"/>' for n in range(1, count + 1)
    )
    measures = "\n".join(
        f'<measure n="{n}">\n'
        + "".join(
            f'  <staff n="{s}">{layers(text)}</staff>\n'
            for s, text in enumerate((bar,) if isinstance(bar, str) else bar, 1)
        )
        + f"{(signs or {}).get(n, '')}</measure>"
        for n, bar in enumerate(bars, first)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1">{head}'
        f'<music><body><mdiv><score><scoreDef keysig="{key}" meter.count="4" meter.unit="4">'
        f"<staffGrp>{staves}</staffGrp></scoreDef>\n<section>\n{measures}\n"
        "</section></score></mdiv></body></music></mei>\n"
    ).encode()


def layers(text: str) -> str:
    """Return the layers of a staff."""
    return "".join(
        f'<layer n="{n}">{_voice(voice)}</layer>' for n, voice in enumerate(text.split("//"), 1)
    )


def _voice(text: str) -> str:
    opening = {"[": "<beam>", "(": '<tuplet num="3" numbase="2">'}
    closing = {"]": "</beam>", ")": "</tuplet>"}
    written = []
    for part in _PARTS.findall(text):
        if part.startswith("<"):
            written.append(part)
        else:
            written.append(opening.get(part) or closing.get(part) or _event(part))
    return " ".join(written)


def _event(token: str) -> str:
    found = _TOKEN.match(token)
    assert found, f"not a note in letters: {token}"
    own = f' xml:id="{found["id"]}"' if found["id"] else ""
    value = f' dur="{found["dur"]}"' + (f' dots="{len(found["dots"])}"' if found["dots"] else "")
    value += ' grace="acc"' if found["grace"] else ""
    if found["body"] in {"r", "s"}:
        return f"<{'rest' if found['body'] == 'r' else 'space'}{own}{value}/>"
    notes = found["body"].split("+")
    if len(notes) == 1:
        return f"<note{own}{value}{_pitch(notes[0])}/>"
    return f"<chord{own}{value}>" + "".join(f"<note{_pitch(n)}/>" for n in notes) + "</chord>"


def _pitch(written: str) -> str:
    found = _NOTE.match(written)
    assert found, f"not a pitch: {written}"
    accid = f' accid="{_ACCID[found["accid"]]}"' if found["accid"] else ""
    return f' pname="{found["step"]}" oct="{found["oct"]}"{accid}'


def told(element: Element) -> str:
    """Return music in letters, editorial mark-up by name: `app{W:[...]}`; ids left out."""
    parts: list[str] = []
    for child in element.iterchildren(etree.Element):
        name = local(child)
        inner = told(child)
        match name:
            case "note" | "rest" | "space":
                parts.append(_told_event(child) + (f"{{{inner}}}" if inner else ""))
            case "chord":
                notes = "+".join(_told_pitch(note) for note in child)
                parts.append(f"{notes}/{child.get('dur')}")
            case "beam":
                parts.append(f"[{inner}]")
            case "tuplet":
                parts.append(f"({inner})")
            case "app" | "choice" | "lem" | "corr" | "supplied" | "ossia" | "oStaff":
                parts.append(f"{name}{{{inner}}}")
            case "rdg" | "sic":
                parts.append(f"{_sigla(child)}{{{inner}}}")
            case "measure":
                parts.append(f"|{inner}|")
            case "layer" | "staff":
                parts.append(inner)
            case "artic":
                parts.append(child.get("artic", ""))
            case "fing" | "dynam" | "dir":
                parts.append(f"{name} {''.join(map(str, child.itertext()))}{_ends(child)}")
            case _:
                parts.append(f"{name}{_ends(child)}")
    return " ".join(parts)


def _sigla(element: Element) -> str:
    sigla = "+".join(t.rpartition("witness-")[2] for t in element.get("source", "").split())
    return f"{sigla}*" if element.get("hand") else sigla


def _told_event(element: Element) -> str:
    value = f"{element.get('dur')}{'.' * int(element.get('dots', '0'))}"
    grace = "~" if element.get("grace") else ""
    if local(element) != "note":
        return f"{local(element)[0]}/{value}"
    return f"{grace}{_told_pitch(element)}/{value}"


def _told_pitch(note: Element) -> str:
    return f"{note.get('pname')}{_SIGN.get(note.get('accid', ''), '')}{note.get('oct')}"


def _ends(element: Element) -> str:
    """Return which notes a sign hangs on, by the pitches there."""
    root = element.getroottree().getroot()
    by_id = {e.get(XML_ID): e for e in root.iter(etree.Element) if e.get(XML_ID)}
    told_ends = []
    for name in ("startid", "endid"):
        target = by_id.get(element.get(name, "").removeprefix("#"))
        if target is not None:
            told_ends.append(_told_pitch(target) if local(target) == "note" else local(target))
    return f"({'-'.join(told_ends)})" if told_ends else ""
