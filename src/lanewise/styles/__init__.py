"""Built-in report styles: one HTML page, Markdown with pictures beside it, plain text.

They are plugins like any other: `builtin` offers them through the hook that strangers use, and this room
imports nothing of the library but the document, the hooks and the errors. A style only lays out what the
report says; it computes nothing, opens no file and reads no clock, so the same report gives the same bytes.
"""
