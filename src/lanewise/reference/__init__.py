"""Tables of facts about solvents, mixtures, salts and kitchen measures, each row with its source and status.

A hazard that could not be checked against a source is not here; what else is from memory says so in its status. The
tables are plain CSV files beside this text.
"""
