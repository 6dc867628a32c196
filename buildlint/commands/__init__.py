"""The command line: a module a command, arguments, output."""
