"""Pictures of plates and of results: drawn from finished numbers, described in words, the same bytes each time.

The only room that knows matplotlib. A figure is a `lanewise.document.Figure`: it holds its size, its description with
the numbers, and a function that draws it as SVG, PNG or PDF. Nothing here works a number out; nothing is told by
colour alone; every text that a user typed is drawn as plain text, whatever signs it holds.
"""
