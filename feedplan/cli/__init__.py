"""The command line: each command is a module of its own, loaded only when it is asked for."""
