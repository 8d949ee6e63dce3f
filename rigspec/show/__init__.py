"""Findings and figures as people and machines read them: values in, text out, one file per form."""
