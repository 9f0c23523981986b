"""The import formats that come with the library: the marks table and the study record.

They go through the same door as anybody's plugin: `builtin` registers them, recognisers look at the first part of a
file only, and the readers deliver what stands in the file, for the library to check.
"""
