"""Tables of facts about solvents and dyes, each row with its source and status.

A fact that could not be checked against a source is not here. The tables are plain CSV files beside this text.
"""
