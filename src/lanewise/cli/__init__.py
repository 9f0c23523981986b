"""The command line: one command a job, each of which only joins the library's doors together.

Exit codes: 0 done, 1 the files have faults (they are listed), 2 the call itself is wrong. A traceback means a fault of
the library or of a plugin, never of a user's file.
"""
