"""What the tool costs, beside what other tools cost on the same files."""
