"""Blocks in, bytes out. A writer knows blocks and nothing else of the house."""
