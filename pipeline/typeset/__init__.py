"""TYPESET: view models, wording per language, WeasyPrint."""
