"""READ: what the editor wrote (edition.yaml, records, texts) as frozen, located objects."""
