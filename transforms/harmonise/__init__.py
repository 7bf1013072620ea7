"""Every centre's notation, unit and word into the codebook's one."""
