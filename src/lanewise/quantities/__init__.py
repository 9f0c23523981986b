"""The formulas of planar chromatography, each once: numbers in, numbers out, with source, unit, range and edges.

A formula knows nothing of plates, lanes or uncertainty, so it takes a float, an array, a pandas Series or a
labelled xarray array alike and gives back the same kind. Where it has no finite value it gives inf or nan without
a warning; the analyses turn those into bounds with a state, so no reader ever meets one bare.
"""
