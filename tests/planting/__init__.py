"""Known changes planted into the MEI of a real work, each with what a collation has to tell of it.

A plant is made in the file, element by element, never in the objects that are compared.
"""
