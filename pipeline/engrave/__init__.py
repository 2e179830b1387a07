"""ENGRAVE: Verovio at one edge; excerpts, examples, SVG prepared for PDF."""
