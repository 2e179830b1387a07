"""The codes of what can be wrong with an edition as it is written, for the editor's guide.

In: nothing. Out: each code that this stage uses, with what it finds.
"""

from __future__ import annotations

from collections.abc import Mapping

CODES: Mapping[str, str] = {
    "chosen-twice": "A player's own copy chooses twice of one record; one choice would be lost.",
    "duplicate-key": "A key stands twice in one place; one of the two values would be lost.",
    "duplicate-record-id": "Two records have one id; what refers to it could mean either.",
    "empty-file": "A file is empty, as after a save that failed.",
    "empty-value": "A key, list or text has nothing in it.",
    "file-not-read": "Records lie where they are not read: in a folder, or a file of another name.",
    "file-too-large": "A file is larger than anything an edition needs.",
    "malformed-yaml": "A file is no YAML: a colon, a quotation, a bracket or an indentation.",
    "missing-file": "A file that is named, or edition.yaml itself, is not there.",
    "missing-folder": "The edition folder or its folder of records is not there.",
    "missing-key": "A record or an entry lacks a key that it needs.",
    "nested-too-deep": "Brackets or lists are nested deeper than any record needs.",
    "no-records": "A file of records holds none.",
    "not-a-file": "A folder or something else stands where a file is needed.",
    "not-a-folder": "A file stands where a folder is needed.",
    "not-a-list": "A file of records does not begin its records with dashes.",
    "not-a-record": "An entry of a file of records has no keys.",
    "not-for-a-player": "A player's own copy holds a record of the text, or of somebody else.",
    "outside-folder": "A path or a link leads out of the edition folder; nothing there is read.",
    "player-is-agent": "A player has the id of an agent of the edition; marks would be mixed up.",
    "text-without-language": "The name of a text does not say its language.",
    "too-many-values": "A file holds, or its aliases stand for, more than any edition needs.",
    "unknown-alias": "A value repeats another that was not named before.",
    "unknown-key": "A key is misspelt or stands in the wrong place; its value would be lost.",
    "unknown-record-kind": "The kind of a record is none of the seven.",
    "unprintable-character": "A text holds a character that can neither be seen nor printed.",
    "unreadable-file": "A file cannot be opened.",
    "wrong-encoding": "A file is not saved as UTF-8; accents and signs would be wrong.",
    "wrong-value": "A value is not what its key needs.",
    "yaml-tag": "A value has a YAML tag; an edition has none.",
}
"""What each code finds, in alphabetical order."""
