"""Airframe files: overrides, and outlines from drawings (section 12)."""

import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

TAB_EFFECTS = ("lift_per_rad", "pitch_per_rad", "side_per_rad", "roll_per_rad", "yaw_per_rad", "drag_per_rad2")


SCENARIO_FIELDS = ("launch", "air", "pilot", "site", "end", "summary", "solver", "record")


def apply_overrides(scenario, airframe):
    """Change the JSON of scenario and airframe in place by the scenario's overrides (section 12).

    Those of what tables.json holds are in it already.
    """
    for path, change in scenario.get("overrides", {}).items():
        keys = path.split(".")
        keys = keys[1:] if keys[0] == "airframe" else keys
        if keys[0] in ("coefficients", "stall", "reference") or (keys[0] == "tabs" and len(keys) > 2 and keys[2] in TAB_EFFECTS):
            continue
        holder = scenario if keys[0] in SCENARIO_FIELDS else airframe
        if keys[0] in ("damper", "propeller_effects", "air", "pilot", "site"):
            holder.setdefault(keys[0], {})  # an optional object that is not there yet
        found = override_targets(holder, keys)
        if not found:
            raise SystemExit(f"override {path!r} matches nothing")
        for place, key in found:
            if not isinstance(change, dict):
                place[key] = change
            elif "add" in change:
                place[key] += change["add"]
            else:
                place[key] *= change["multiply"]


def override_targets(node, keys):
    """All (holder, key) reached from node by the path keys."""
    if isinstance(node, list):
        slots = [i for i, item in enumerate(node) if keys[0] in ("*", item.get("name", str(i + 1)) if isinstance(item, dict) else str(i + 1))]
    elif isinstance(node, dict):
        # a last key may name an optional field that is not there yet
        slots = list(node) if keys[0] == "*" else [keys[0]] if keys[0] in node or len(keys) == 1 else []
    else:
        slots = []
    if len(keys) == 1:
        return [(node, slot) for slot in slots]
    return [target for slot in slots for target in override_targets(node[slot], keys[1:])]


# -------------------------------------------------------------------------------- section 12: outlines from drawings
MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": 25.4}
WAYS = {"right": (1.0, 0.0), "left": (-1.0, 0.0), "down": (0.0, 1.0), "up": (0.0, -1.0)}  # on the page
NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"


def read_drawings(airframe, folder):
    """Put corners in place of every `outline_svg` of the airframe's JSON: `outline`, and `holes` where there are any."""
    for entry in [*airframe["mass"].get("parts", []), *airframe.get("surfaces", [])]:
        if "outline_svg" in entry:
            across_name = "up_mm" if entry["plane"] == "upright" else "right_mm"
            outline, *holes = drawn_outlines(entry["outline_svg"], across_name, folder)
            entry["outline"] = [{"station_mm": station, across_name: across} for station, across in outline]
            entry["holes"] = [[{"station_mm": station, across_name: across} for station, across in hole] for hole in holes]


def drawn_outlines(entry, across_name, folder):
    """Corners (station, across) in mm of a drawing's outline, then of its holes."""
    file = Path(folder) / entry["file"]
    root = ElementTree.parse(file).getroot()
    if entry.get("drawn", "half") != "half":
        raise SystemExit(f"{file}: only what is drawn as half is read here")
    sizes = []
    for name in ("width", "height"):
        size = re.fullmatch(rf"\s*({NUMBER})\s*(mm|cm|in)\s*", root.get(name, ""))
        if not size:
            raise SystemExit(f"{file}: no {name} in mm, cm or in")
        sizes.append(float(size[1]) * MM_PER_UNIT[size[2]])
    left, top, wide, high = (float(number) for number in re.split(r"[\s,]+", root.get("viewBox").strip()))
    kappa = 0.5 * (sizes[0] / wide + sizes[1] / high)
    if abs(sizes[0] / wide / kappa - 1) > 5e-4:
        raise SystemExit(f"{file}: the page and its viewBox have different shapes")
    rings = []
    for ident in (entry["id"], *entry.get("hole_ids", [])):
        rings += sorted(straight_rings(file, root, ident), key=lambda ring: -abs(twice_area(ring)))
    page = [[(kappa * (x - left), kappa * (y - top)) for x, y in ring] for ring in rings]
    wide = max(x for x, _ in page[0]) - min(x for x, _ in page[0])
    if abs(wide / entry.get("check_width_mm", wide) - 1) > 0.01:
        raise SystemExit(f"{file}: {entry['id']} is {wide} mm wide, not {entry['check_width_mm']}")
    axis = across_name.removesuffix("_mm")
    aft_way = entry.get("aft_on_page", "down")
    across_way = entry.get(f"{axis}_on_page", "right" if aft_way in ("down", "up") else "up")
    a, b = WAYS[aft_way], WAYS[across_way]
    station_0, across_0 = entry.get("station_from_mm", 0.0), entry.get(f"{axis}_from_mm", 0.0)
    return [[(station_0 + x * a[0] + y * a[1], across_0 + x * b[0] + y * b[1]) for x, y in ring] for ring in page]


def twice_area(ring):
    return sum(x * y1 - x1 * y for (x, y), (x1, y1) in zip(ring, ring[1:] + ring[:1]))


def straight_rings(file, root, ident):
    """All closed rings of corners, in user units, of the element with an id."""
    def trail(node, above):
        if node.get("id") == ident:
            return above + [node]
        return next((found for child in node if (found := trail(child, above + [node]))), None)

    nodes = trail(root, [])
    if not nodes:
        raise SystemExit(f"{file}: nothing has the id {ident!r}")
    *groups, node = nodes
    form = node.tag.split("}")[-1]
    if any(above.get("transform") for above in nodes) or any(above.tag.split("}")[-1] != "g" for above in groups[1:]):
        raise SystemExit(f"{file}: {ident} stands under a transform or not in plain groups; this script reads neither")
    if form == "path":
        rings = path_rings(f"{file}: {ident}", node.get("d", ""))
    elif form == "polygon":
        numbers = [float(number) for number in re.split(r"[\s,]+", node.get("points", "").strip())]
        rings = [list(zip(numbers[::2], numbers[1::2], strict=True))]
    elif form == "rect" and node.get("rx") is None and node.get("ry") is None:
        x, y, w, h = (float(node.get(name, 0)) for name in ("x", "y", "width", "height"))
        rings = [[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]]
    else:
        raise SystemExit(f"{file}: {ident} is a {form} this script does not read")
    # corners written twice (as where a ring is led back to its start before it is closed) count once
    return [[corner for corner, before in zip(ring, ring[-1:] + ring[:-1]) if corner != before] for ring in rings]


def path_rings(where, text):
    """Closed rings of a path made of M, L, H, V, Z and their lower case."""
    tokens = re.findall(rf"[A-Za-z]|{NUMBER}", text)
    if re.sub(rf"[A-Za-z]|{NUMBER}|[\s,]", "", text) or not tokens or tokens[0] not in "Mm":
        raise SystemExit(f"{where}: not a path: {text!r}")
    rings, ring, at, i, command = [], [], (0.0, 0.0), 0, ""
    while i < len(tokens):
        if tokens[i].isalpha():
            command, i = tokens[i], i + 1
            if command not in "MmLlHhVvZz":
                raise SystemExit(f"{where}: {command} is not read by this script, only straight lines are")
            if command in "Mm" and ring:
                raise SystemExit(f"{where}: not closed")
            if command in "Zz":
                rings.append(ring)
                ring, at = [], ring[0]
                continue
        elif command in "Zz":
            raise SystemExit(f"{where}: a number after {command}")
        elif command in "Mm":
            command = "L" if command == "M" else "l"  # further pairs are lines
        x, y = at
        base_x, base_y = (x, y) if command.islower() else (0.0, 0.0)
        if command in "Hh":
            x, i = base_x + float(tokens[i]), i + 1
        elif command in "Vv":
            y, i = base_y + float(tokens[i]), i + 1
        else:
            x, y, i = base_x + float(tokens[i]), base_y + float(tokens[i + 1]), i + 2
        if not ring and command not in "Mm":
            ring.append(at)  # a path that goes on after Z starts where it closed
        at = (x, y)
        ring.append(at)
    if ring:
        raise SystemExit(f"{where}: not closed")
    return rings
