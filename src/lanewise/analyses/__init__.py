"""Questions put to the marks table, answered as findings.

Each analysis takes the marks table or an earlier finding and gives one frozen result: what was asked, what was found,
how sure it is, and what could not be said. Nothing here knows the record (`lanewise.model`), a file or a picture.
"""
