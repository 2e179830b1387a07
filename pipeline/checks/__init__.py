"""CHECK: rules over edition, score and computed facts; each yields problems."""
