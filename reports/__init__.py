"""What people open: pages, figures, table files, return workbooks, quality suites."""
