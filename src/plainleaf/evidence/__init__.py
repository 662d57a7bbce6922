"""The content module: published numbers and where each came from. Knows no language, no paper."""
