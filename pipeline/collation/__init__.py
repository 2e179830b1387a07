"""COMPUTE: what the versions of a passage have differently, and one decision per record."""
