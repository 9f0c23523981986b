"""Tests and measures of association on arrays; nothing here knows any chemistry.

Numbers in, small frozen results out. A value known only within limits goes in as its two ends, never as a number.
"""
