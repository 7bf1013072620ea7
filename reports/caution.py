"""The caution that stands on every page and in every workbook of tables."""

CAUTION_SHORT = "Research use only; no advice for one patient."

CAUTION = (
    "Research use only. These pages describe groups of operated eyes and give no advice for one "
    "patient. What may be collected, shared and published is settled by the ethics approval, the "
    "data-sharing agreement and the law in force at each centre, and care is settled by licensed "
    "practice; both come before anything written here."
)
