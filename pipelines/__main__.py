"""`python -m pipelines` is the command `foveapool`, for where it is not installed."""

from pipelines.command import main

main()
