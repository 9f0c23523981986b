"""The long table: one row a spot, every column named once in `columns`.

Lanes have different numbers of spots, so readings live in a table and not in a grid. `marks` turns a study into
this table and a checked table into a study; `checking` makes such a table of what people typed, and `headings`,
`cells` and `rules` say what it understands and what it refuses.
"""
