"""Answers as sheets to print and hand over: one small file a study, and a renderer for each form."""
