"""What `apparatus places` shows of a bar."""

from __future__ import annotations

from pathlib import Path

from pipeline.score.listing import bar_listing
from pipeline.score.model import Movement
from tests.score.drawn import mei, read


def test_a_bar_is_listed_staff_by_staff_in_the_order_of_time(tmp_path: Path) -> None:
    signs = '<slur startid="#p" endid="#q"/><dynam tstamp="2.5" staff="2">pp</dynam>'
    data = mei(
        ("~a5/16 p=g5/4. q=f#5/8 | r/4 d5+f5/4", "(3:2 c4/8 d4/8 e4/8) R"),
        ("R", "R"),
        meter="2/4",
        labels=("Violin", "Piano"),
        extra={0: signs},
    ).replace(b'xml:id="q"', b'xml:id="q" artic="upbow"')
    rows = bar_listing(Movement(1, "", read(tmp_path, data)), "1")
    shown = [
        " | ".join(
            (
                row.staff_label,
                str(row.voice),
                str(row.beat),
                str(row.note or "-"),
                " ".join(row.pitches) or row.kind.value,
                " ".join(row.scientific),
                row.value,
                row.xml_id,
                ", ".join(row.markings),
            )
        )
        for row in rows
    ]
    assert shown == [
        "Violin | 1 | 1 | 1 | a″ | A5 | grace 16th | m1-s1-v1-note1 | ",
        "Violin | 1 | 1 | 2 | g″ | G5 | dotted quarter | p | slur (m1-slur1)",
        "Violin | 2 | 1 | - | rest |  | quarter | m1-s1-v2-rest1 | ",
        "Violin | 2 | 2 | 3 | d″ f″ | D5 F5 | quarter | m1-s1-v2-chord1 | ",
        "Violin | 1 | 5/2 | 4 | f♯″ | F♯5 | 8th | q | upbow",
        "Piano | 1 | 1 | 1 | c′ | C4 | 8th (3:2) | m1-s2-v1-note1 | ",
        "Piano | 1 | 4/3 | 2 | d′ | D4 | 8th (3:2) | m1-s2-v1-note2 | ",
        "Piano | 1 | 5/3 | 3 | e′ | E4 | 8th (3:2) | m1-s2-v1-note3 | ",
        "Piano | 1 | 2 | - | rest |  | whole bar | m1-s2-v1-mRest1 | dynam pp (m1-dynam1)",
    ]


def test_a_bar_that_is_not_there_has_no_rows(tmp_path: Path) -> None:
    assert bar_listing(Movement(1, "", read(tmp_path, mei("c4/1"))), "2") == ()


def test_every_bar_of_one_number_is_listed(tmp_path: Path) -> None:
    movement = Movement(1, "", read(tmp_path, mei("c4/1", "d4/1", numbers=("5", "5"))))
    assert [row.pitches for row in bar_listing(movement, "5")] == [("c′",), ("d′",)]
