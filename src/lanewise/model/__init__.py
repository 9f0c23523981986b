"""The record: what was planned and seen, in millimetres from any common zero, and never a result.

A `Study` holds plates, a plate holds lanes, a lane holds spots; solvent systems stand beside them. All are frozen
and checked in the moment they are made, so a value that cannot be is refused where it was typed. `record` writes
a study as JSON and reads it back without loss.
"""
