"""LAYER: one MEI that holds every version and marking, tagged; and back again."""
