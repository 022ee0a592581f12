"""Woods designed on the usual plan: how near the choice comes to its bound in ten seconds of search, and how long the whole command takes."""

import json
import subprocess
import time

began = time.perf_counter()
out = subprocess.run(["target/release/greyhen", "suggest", "out/bench/usual.gpkg", "wood", "--seconds", "10", "--json"], capture_output=True, check=True)
took = time.perf_counter() - began
said = json.loads(out.stdout)
print(f"{said['tried']} outlines tried, {len(said['measures'])} woods, {said['area_ha']:.1f} ha: gap to the bound {100 * said['gap']:.3f} % "
      f"({100 * said['gap_of_gain']:.2f} % of the gain), {said['status']}; goal at most 3 %")
print(f"whole command, plan file to JSON: {took:.1f} s")
