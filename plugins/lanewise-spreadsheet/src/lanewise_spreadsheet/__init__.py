"""Spreadsheets for lanewise: marks from xlsx and ods files, and reports as a workbook with live formulas."""
