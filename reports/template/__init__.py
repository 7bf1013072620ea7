"""The blank upload workbook, from the codebook, in the languages of the centres."""

from reports.template.workbook import template_workbook

__all__ = ["template_workbook"]
