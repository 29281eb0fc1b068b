"""Calibrating to a person: what is measured while prompts are spoken, what follows from it, and where it is kept."""
