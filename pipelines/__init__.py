"""What runs, and in which order: flows, commands, and everything that touches disk or database."""
