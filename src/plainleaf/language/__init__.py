"""Words: languages, catalogs, and numbers put into plain words. Knows nothing of papers."""
