"""All rules in one table: the order is that of the contributor's guide, which is printed from it.

To add a rule, write a small function from `Material` to faults in the module of its subject, say
in its docstring what it finds and why that matters, and add a line here.
"""

from __future__ import annotations

from pipeline.checks import (
    bow,
    bowings,
    contradictions,
    fingerings,
    languages,
    movements,
    ossias,
    outputs,
    people,
    readings,
    references,
    sources,
    status,
    traditions,
)
from pipeline.checks.rule import Rule
from pipeline.problems import Severity

ERROR, WARNING = Severity.ERROR, Severity.WARNING

RULES: tuple[Rule, ...] = (
    Rule("unknown-siglum", ERROR, references.unknown_siglum),
    Rule("unknown-agent", ERROR, references.unknown_agent),
    Rule("unknown-record", ERROR, references.unknown_record, needs_every_record=True),
    Rule("unknown-movement", ERROR, references.unknown_movement),
    Rule("superseded-in-force", ERROR, status.superseded_in_force),
    Rule("superseded-without-successor", ERROR, status.superseded_without_successor),
    Rule("successor-not-in-force", ERROR, status.successor_not_in_force),
    Rule("superseded-in-a-circle", ERROR, status.superseded_in_a_circle),
    Rule("contradicting-readings", ERROR, contradictions.contradicting_readings),
    Rule("reading-and-emendation", ERROR, contradictions.reading_and_emendation),
    Rule("told-twice", WARNING, contradictions.told_twice),
    Rule("ossias-alike", ERROR, contradictions.ossias_alike),
    Rule("fingered-twice", ERROR, contradictions.fingered_twice),
    Rule("bowings-contradict", ERROR, contradictions.bowings_contradict),
    Rule("reading-repeats-the-text", ERROR, readings.reading_repeats_the_text),
    Rule("witness-on-both-sides", ERROR, readings.witness_on_both_sides),
    Rule("lemma-witness-differs", ERROR, readings.lemma_witness_differs),
    Rule(
        "lemma-witness-differs-besides",
        WARNING,
        readings.lemma_witness_differs_besides,
        needs_every_record=True,
    ),
    Rule("witness-left-out", WARNING, readings.reading_leaves_a_witness_out),
    Rule("emendation-not-covering", ERROR, readings.emendation_leaves_a_witness_out),
    Rule("ossia-length", ERROR, ossias.ossia_of_another_length),
    Rule("ossia-sounds-different", ERROR, ossias.ossia_that_sounds_different),
    Rule("tradition-without-origin", ERROR, traditions.tradition_without_origin),
    Rule("tradition-without-note", ERROR, traditions.tradition_without_note),
    Rule("tradition-by-composer", ERROR, traditions.tradition_by_the_composer),
    Rule("no-such-finger", ERROR, fingerings.finger_outside_the_hand),
    Rule("thumb-not-played", ERROR, fingerings.thumb_on_a_small_instrument),
    Rule("no-such-string", ERROR, fingerings.unknown_string),
    Rule("fingering-count", ERROR, fingerings.fingering_count),
    Rule("more-fingers-than-notes", ERROR, fingerings.more_fingers_than_notes),
    Rule("no-such-alternative", ERROR, fingerings.printed_alternative_unknown),
    Rule("bowing-beyond-notes", ERROR, bowings.bowing_beyond_its_notes),
    Rule("no-slur-to-divide", ERROR, bowings.bowing_divides_no_slur),
    Rule("divides-and-joins", ERROR, bowings.bowing_divides_and_joins),
    Rule("bowing-without-change", ERROR, bowings.bowing_changes_nothing),
    Rule("bow-sign-at-plucked-note", ERROR, bow.bow_sign_at_a_plucked_note),
    Rule("bow-changes-within-a-note", ERROR, bow.bow_changes_within_a_note),
    Rule("bow-sign-within-a-stroke", ERROR, bow.bow_sign_within_a_stroke),
    Rule("bow-signs-against-division", ERROR, bow.bow_signs_against_the_division),
    Rule("bow-signs-without-retake", WARNING, bow.bow_signs_without_a_retake),
    Rule("bow-signs-beside-the-text", WARNING, bow.bow_signs_beside_the_text),
    Rule("stroke-longer-than-bow", WARNING, bow.stroke_longer_than_the_bow),
    Rule("tempo-change-at-no-bar", ERROR, bow.tempo_change_at_no_bar),
    Rule("fingering-without-digit", ERROR, outputs.fingering_without_a_digit),
    Rule("not-on-edited-staff", WARNING, outputs.hand_of_another_player),
    Rule("missing-translation", ERROR, languages.missing_translation),
    Rule("missing-text", ERROR, languages.missing_text),
    Rule("unknown-language", WARNING, languages.text_in_a_language_of_its_own),
    Rule("stemma-circle", ERROR, sources.stemma_in_a_circle),
    Rule("principal-witness", ERROR, sources.principal_witness),
    Rule("witness-unused", WARNING, sources.witness_used_nowhere, needs_every_record=True),
    Rule("agents-of-one-name", ERROR, people.agents_of_one_name),
    Rule("agent-unused", WARNING, people.agent_used_nowhere, needs_every_record=True),
    Rule("duplicate-bar-number", ERROR, movements.duplicate_bar_number),
    Rule("bar-without-number", WARNING, movements.bar_without_number),
    Rule("bar-too-long", WARNING, movements.bar_too_long),
    Rule("movement-twice", ERROR, movements.movement_given_twice),
    Rule("unknown-instrument", ERROR, movements.unknown_instrument),
    Rule("edited-staff-missing", ERROR, movements.edited_staff_missing),
)
"""Every rule; codes are unique and never change their meaning."""
