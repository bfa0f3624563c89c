import sys
from pathlib import Path

# The oracles and the random instances are shared by several test files of this folder.
sys.path.insert(0, str(Path(__file__).parent))
