"""Small results of every kind that has a page, made with the built command."""

import json
import pathlib
import subprocess

WORKSPACE = pathlib.Path(__file__).resolve().parents[2]
READY = WORKSPACE / "scenarios/ready"
STUDIES = WORKSPACE / "scenarios/studies"
# Results without a note of the user's.
WITHOUT_NOTE = ("many flights", "airframes compared", "results compared", "greatest mass", "wind")
# What a page must show as text and never obey.
MARKUP = "<script>document.title='run'</script><img src=x onerror=alert(1)> \"quoted\" & 'so'"


def ready(name):
    return str(READY / f"{name}.json")


def study(folder, name, base, **changes):
    """A ready study with few flights and a note that looks like markup, in a folder of its own."""
    folder.mkdir(parents=True, exist_ok=True)
    content = json.loads((STUDIES / f"{name}.json").read_text())
    if base is None:
        base = (STUDIES / content["base"]).resolve()
    else:
        base = ready(base)
    content |= {"base": str(base), "note": MARKUP} | changes
    if "axes" in changes:
        # Other axes, whose values have no names: conditions are asked everywhere, and nothing is drawn of what is not known.
        content.pop("bands", None)
        for condition in content["conditions"]:
            condition.pop("at", None)
    path = folder / "study.json"
    path.write_text(json.dumps(content))
    return str(path)


def scenario(folder, name):
    """A ready scenario with such a note."""
    folder.mkdir(parents=True, exist_ok=True)
    content = json.loads((READY / f"{name}.json").read_text())
    content |= {"note": MARKUP, "airframe": str((READY / content["airframe"]).resolve())}
    path = folder / f"{name}.json"
    path.write_text(json.dumps(content))
    return str(path)


def run(tossline, *arguments):
    done = subprocess.run([tossline, *arguments], capture_output=True, text=True)
    assert done.returncode == 0, f"{arguments}: {done.returncode}\n{done.stderr}"


def make(tossline, folder):
    """Folders with results, by what they are; each has its page."""
    flights = [ready("step-in-calm-cured"), ready("step-in-calm-overcured")]
    out = {name: folder / name for name in ("one flight", "flights", "many flights", "footprint", "thrust line", "no angle", "sweep", "sweep that decides", "sweep along an axis")}
    run(tossline, "fly", scenario(folder / "written", "step-in-calm"), "--out", str(out["one flight"]))
    run(tossline, "fly", scenario(folder / "written", "step-in-calm"), *flights, "--out", str(out["flights"]))
    run(tossline, "fly", *(str(path) for path in sorted(READY.glob("*.json"))[:10]), "--out", str(out["many flights"]))
    throws = study(folder / "footprint-study", "footprint-from-the-dyke", "from-the-dyke-under-power", flights=12)
    run(tossline, "footprint", throws, "--cut-moments", "3", "--out", str(out["footprint"]))
    for name, airframe, ready_study, base, angles in (
        ("thrust line", "dunlin", "thrust-line-dunlin", None, [-22, -14, 0]),
        ("no angle", "avocet", "thrust-line-avocet", None, [-12, 0, 12]),
    ):
        axes = [{"field": "motors.*.thrust_elevation_deg", "values": angles}]
        asked = study(folder / f"{name} study", ready_study, base, flights=6, axes=axes)
        run(tossline, "thrustline", str(WORKSPACE / f"demo-airframes/{airframe}.json"), "--study", asked, "--out", str(out[name]))
    sweep(tossline, folder, out)
    out |= answers(tossline, folder)
    return out


def answers(tossline, folder):
    """What is asked of airframes and of results; none has a note of the user's."""
    out = {name: folder / name for name in ("airframes compared", "results compared", "greatest mass", "wind")}
    dunlin, avocet, godwit = (str(WORKSPACE / f"demo-airframes/{name}.json") for name in ("dunlin", "avocet", "godwit"))
    run(tossline, "compare", dunlin, avocet, "--out", str(out["airframes compared"]))
    for name, elevation in (("before", 0), ("after", -14)):
        run(tossline, "fly", ready("step-in-calm"), "--set", f"motors.*.thrust_elevation_deg={elevation}", "--out", str(folder / name))
    run(tossline, "compare", str(folder / "before"), str(folder / "after"), "--out", str(out["results compared"]))
    few = study(folder / "weight study", "thrust-line-dunlin", None, flights=3)
    run(tossline, "thrustline", dunlin, "--study", few, "--level-throttle", "0.5", "--out", str(out["greatest mass"]))
    run(tossline, "wind", godwit, "--throws", "8", "--time-s", "3", "--out", str(out["wind"]))
    return out


def sweep(tossline, folder, out):
    """Scatter and conditions; sensitivities; an axis."""
    throws = study(folder / "sweep study", "marsh-afternoon", None, flights=40)
    run(tossline, "sweep", throws, "--out", str(out["sweep"]))
    content = json.loads((STUDIES / "marsh-afternoon.json").read_text())
    fields = content["scatter"]["fields"][:3]
    short = ["--set", "end.time_limit_s=1"]
    asked = {"kind": "sobol_indices", "columns": ["lowest_clearance_m", "airspeed_min_m_s"]}
    decides = study(folder / "deciding study", "marsh-afternoon", None, flights=16, scatter={"fields": fields}, sensitivity=asked)
    run(tossline, "sweep", decides, *short, "--out", str(out["sweep that decides"]))
    axes = [{"field": "air.wind.speed_m_s", "values": [0, 1, 2]}]
    along = study(folder / "axis study", "marsh-afternoon", None, flights=8, scatter={"fields": fields}, axes=axes, keep={})
    run(tossline, "sweep", along, *short, "--out", str(out["sweep along an axis"]))
