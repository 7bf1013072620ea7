"""The dictionary page: the whole codebook in words, derived from its declarations."""
