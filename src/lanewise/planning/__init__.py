"""Planning a run: what is wanted in, a plan that can work out, or a refusal with the nearest plan that does.

A plan says where every line and lane lies on the sheet before anything is spotted; blank records and tables with the
lanes named follow from it. Lengths are millimetres from the lower left corner of the sheet, the front at the top.
"""
