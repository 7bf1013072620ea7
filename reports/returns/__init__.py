"""What goes back to one centre: its own workbooks with the cells marked, and the findings."""

from reports.returns.files import write_return
from reports.returns.listing import ReturnSource

__all__ = ["ReturnSource", "write_return"]
