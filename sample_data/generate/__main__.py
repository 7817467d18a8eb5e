"""Write the sample's files into the folder named, or beside this package."""

import sys
from pathlib import Path

from sample_data.generate.files import write_sample

if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent.parent
    for path in write_sample(target):
        print(f"{path.name}: {path.stat().st_size:,} bytes")
