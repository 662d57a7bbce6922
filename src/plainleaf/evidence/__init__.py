"""The content module: published numbers with where each came from. Knows no language and no paper."""
