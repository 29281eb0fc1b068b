"""The commands of the command line, one module each. Only `cli` imports them, and only the one that was asked for."""
