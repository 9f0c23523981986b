"""From a study and its findings to a report: finished text, tables of finished cells, figures.

Digits are rounded here, once, by the library's one rule; a report style only lays out what it is given.
"""
