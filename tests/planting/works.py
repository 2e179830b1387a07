"""The works of music21's corpus in which changes are planted."""

from __future__ import annotations

LIGHT = (
    "bach/bwv244.29-a.mxl",
    "corelli/opus3no1/1grave.xml",
    "cpebach/h186.mxl",
    "handel/rinaldo/Lascia_chio_pianga.mxl",
    "haydn/opus1no1/movement2.mxl",
    "johnson_j_r/lift_every_voice.mxl",
    "liliuokalani/aloha_oe.mxl",
    "luca/gloria.xml",
    "lusitano/allor_che_ignuda.mxl",
    "monteverdi/madrigal.3.1.mxl",
    "mozart/k458/movement2.mxl",
    "verdi/laDonnaEMobile.mxl",
)
"""Works of 250 to 1,200 notes, or of few notes a bar."""

DENSE = (
    "beach/prayer_of_a_tired_child.musicxml",
    "joplin/maple_leaf_rag.mxl",
    "mozart/k155/movement1.mxl",
    "schubert/Lindenbaum.xml",
    "schumann_clara/opus17/movement3.xml",
)
"""Works of up to 2,500 notes, with several voices a staff, chords, triplets."""

LONG = (
    "haydn/opus74no1/movement2.mxl",
    "schumann_robert/opus41no1/movement1.mxl",
    "weber/concertino_clarinet.mxl",
)
"""Works of 2,000 to 4,800 notes, for the bench."""

FOR_SINGLE_CHANGES = (
    "cpebach/h186.mxl",
    "mozart/k458/movement2.mxl",
    "beach/prayer_of_a_tired_child.musicxml",
)
"""Between them they have room for every change there is."""
