"""The tests of this folder share their groups by import."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
