"""The four kinds of file: what each holds, how it is read, and where each key stands."""
