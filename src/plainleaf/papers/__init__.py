"""What can be said: papers, their composition and their checks. Knows no file format."""
