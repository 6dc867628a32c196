"""Compare the oracle with the package: python -m tests.oracle COUNT [SEED] [--all] [--wild]."""

import sys

from tests.oracle.comparing import compare

if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    count, seed = (*numbers, 1)[:2] if numbers else (100, 1)
    print(compare(count, seed, everything="--all" in sys.argv, wild="--wild" in sys.argv).text())
