"""Writes the sample study's uploads and what the warehouse must hold after each week."""
