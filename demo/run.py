"""Show turfmap at work: ``python3 demo/run.py``.

Makes `.venv`, installs turfmap into it, makes the map of the demo's estate and clients, and says
where the map is. Nothing but Python is needed.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from demo.environment import ROOT, ready

OUT = ROOT / "demo" / "out"


def main() -> int:
    """Prepare, run the demo, say where the map is; return the exit status."""
    python = ready("demo")
    started = time.monotonic()
    command = [str(python), "-m", "turfmap", "demo", "--into", str(OUT)]
    status = subprocess.run(command, cwd=ROOT, check=False).returncode
    if status:
        print("The demo did not finish; the lines above say why.", file=sys.stderr)
        return status
    page = OUT / "map.html"
    print(f"\nThe demo took {time.monotonic() - started:.1f} s. Open the map in a browser:")
    print(f"  {page}\n  {page.as_uri()}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
