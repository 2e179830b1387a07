"""READ: MEI and MusicXML in; events, markings and places out."""
