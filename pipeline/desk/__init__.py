"""At the desk: the small commands that answer an editor's question and build nothing.

Each takes a folder or a file and what was asked, and returns lines or a problem; `cli` prints.
"""
