"""Words made fit to show, wrapping, and the errors that reach a user."""
