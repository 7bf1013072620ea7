"""From sheets to records: where the table is, which heading is which field, which rows count."""

from transforms.layout.build import Layout, lay_out

__all__ = ["Layout", "lay_out"]
