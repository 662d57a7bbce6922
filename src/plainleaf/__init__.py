"""Plainleaf makes the papers a dental practice needs around a light look at the mouth."""
