"""How people reach the desk: the command line."""
