"""Figures as inline SVG: pure functions, frame in, text out."""
