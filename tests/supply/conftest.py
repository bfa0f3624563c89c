import sys
from pathlib import Path

# The short ways to a supply report are shared by the test files of this folder.
sys.path.insert(0, str(Path(__file__).parent))
