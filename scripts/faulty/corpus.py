"""Puts the modules of scripts/corpus within reach; import this first."""
import sys
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parent.parent / "corpus"))
