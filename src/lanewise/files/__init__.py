"""The doors: files come in as a study and go out as a record or a laid-out report.

A reader sees bytes, never a path, and gives readings as they were written; here they are checked, converted and
given their provenance, and the faults of all files are collected before one error names them. What goes out
is written whole or not at all: at every moment either the old file stands or the new one.
"""
