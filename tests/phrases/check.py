#!/usr/bin/env python3
"""Checks a set of phrase notes against itself and its kits:  python3 check.py [FOLDER]

Every line is JSON of the known shape; every expected value is possible with the kit it names
(marks of the dial, range of the lens, frames of the format, names of films and filters).
Prints each fault with the note's id; exit status 1 if there is any. Python 3.11, standard library.
"""
import collections, json, os, re, sys, tomllib

CATEGORIES = {"plain", "long", "numbers", "relative", "bracket", "filter", "roll", "correction", "hypothetical",
              "scene", "chatter", "ambiguous"}
FRAME = {"frame", "status", "shutter", "aperture", "filter", "focal_mm", "lens", "comp_stops", "light", "support",
         "subject", "place", "one_of"}
ROLL = {"roll", "camera", "film", "ei", "process"}
# Marked series: full, half and third steps as common on dials (full marks after ISO 516 and ISO 517 as
# handbooks list them), the old series as public encyclopaedias of cameras give it.
FULL = "30s 15s 8s 4s 2s 1s 1/2 1/4 1/8 1/15 1/30 1/60 1/125 1/250 1/500 1/1000 1/2000 1/4000 1/8000".split()
HALF = FULL + "20s 10s 6s 3s 1.5s 0.7s 1/3 1/6 1/11 1/23 1/45 1/90 1/180 1/350 1/750 1/1500 1/3000 1/6000".split()
THIRD = FULL + """25s 20s 13s 10s 6s 5s 3.2s 2.5s 1.6s 1.3s 0.8s 0.6s 0.4s 0.3s 1/5 1/6 1/10 1/13 1/20 1/25 1/40 1/50
1/80 1/100 1/160 1/200 1/320 1/400 1/640 1/800 1/1250 1/1600 1/2500 1/3200 1/5000 1/6400""".split()
OLD = "1s 1/2 1/5 1/10 1/25 1/50 1/100 1/200 1/300 1/400".split()
OLD_ENDS = {"1/25", "1/50", "1/100", "1/200", "1/300", "1/400"}
APERTURES = {float(x) for x in """1.4 1.6 1.7 1.8 2 2.2 2.4 2.5 2.8 3.2 3.3 3.5 4 4.5 4.8 5 5.6 6.3 6.7 7.1 8 9 9.5 10 11 13
14 16 18 19 20 22 25 27 29 32 36 38 40 45 51 54 57 64""".split()}


def seconds(mark):
    return 1 / float(mark[2:]) if mark.startswith("1/") else float(mark.rstrip("s"))


def each(value):
    return value if isinstance(value, list) else [] if value is None else [value]


class Kit:
    def __init__(self, path):
        with open(path, "rb") as fh:
            k = tomllib.load(fh)
        cam = k["camera"][0]
        self.frames = cam["frames"]
        if "marks" in cam:
            marks, self.time = [m for m in cam["marks"] if m not in "BT"], "T" in cam["marks"]
        else:
            slow, fast = map(seconds, cam["shutters"])
            step = "old" if cam["shutters"][1] in OLD_ENDS and cam["shutter_step"] == "full" else cam["shutter_step"]
            series = {"full": FULL, "half": HALF, "third": THIRD, "old": OLD}[step]
            marks, self.time = [m for m in series if fast <= seconds(m) <= slow], cam["format"] == "4x5"
        self.dial = {round(seconds(m), 6) for m in marks}
        self.slowest = max(self.dial)
        self.lenses = {lens["name"]: lens for lens in k["lens"]}
        names = lambda what: {x["name"] for x in k.get(what, [])}
        self.films, self.filters, self.cameras = names("film"), names("filter"), names("camera")

    def shutter(self, value):
        m = re.fullmatch(r"([BT])(?: (\d+(?:\.\d+)?)s)?", value)
        if m:
            return m[1] == "B" or self.time
        s = seconds(value)
        return s > self.slowest or any(abs(s / d - 1) <= 0.02 for d in self.dial) or s in (0.4, 1 / 2.5, 1 / 1.6)

    def aperture(self, value, focal, lens):
        x = float(value)
        if x not in APERTURES:
            return False
        fits = [l for l in self.lenses.values() if l["widest"] - .01 <= x <= l["smallest"] + .01]
        if lens in self.lenses:
            fits = [l for l in fits if l["name"] == lens]
        elif isinstance(focal, int):
            span = lambda l: l["focal_mm"] if isinstance(l["focal_mm"], list) else [l["focal_mm"]] * 2
            fits = [l for l in fits if span(l)[0] <= focal <= span(l)[1]]
        return bool(fits)


def faults(row, kit):
    e, unsure = row["expect"], {x for u in row["expect"].get("unsure", []) for x in u.split("|")}
    if set(e) - {"frames", "roll", "unsure"} or not isinstance(e.get("frames"), list) or not isinstance(e.get("roll"), dict):
        yield "expect has an unknown shape"
        return
    tags = row.get("tags", [])
    if not tags or tags[0] not in CATEGORIES or set(tags[1:]) - {"mangled"}:
        yield "tags %s" % tags
    if tags[:1] == ["chatter"] and (e["frames"] or e["roll"]):
        yield "chatter records nothing"
    if tags[:1] == ["ambiguous"] and not unsure:
        yield "ambiguous, and nothing to flag"
    if set(e["roll"]) - ROLL:
        yield "roll has %s" % sorted(set(e["roll"]) - ROLL)
    for name, known in (("film", kit.films), ("camera", kit.cameras)):
        for v in each(e["roll"].get(name)):
            if v not in known:
                yield "%s %s is not in the kit" % (name, v)
    for frame in e["frames"]:
        for v in [dict({k: x for k, x in frame.items() if k != "one_of"}, **o) for o in frame.get("one_of", [{}])]:
            if set(v) - FRAME:
                yield "frame has %s" % sorted(set(v) - FRAME)
            if "shutter" not in unsure:
                for s in each(v.get("shutter")):
                    if not kit.shutter(s):
                        yield "shutter %s is not on the dial" % s
            if "aperture" not in unsure or "|" in "".join(e["unsure"]):
                for a in each(v.get("aperture")):
                    if not kit.aperture(a, v.get("focal_mm"), v.get("lens")):
                        yield "aperture %s is no mark of the lens" % a
            for x in each(v.get("filter")):
                for part in x.split("+"):
                    if part != "none" and part not in kit.filters:
                        yield "filter %s is not in the kit" % part
            for x in each(v.get("frame")):
                m = re.fullmatch(r"(\d+)A?", x)
                if not m or (int(m[1]) > kit.frames and "frame" not in unsure):
                    yield "frame %s is not on the roll" % x
            if v.get("status") not in (None, "wasted"):
                yield "status %s" % v["status"]


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))
    kits, ids, texts, count, bad = {}, set(), set(), collections.Counter(), 0
    with open(os.path.join(folder, "phrases.jsonl"), encoding="utf-8") as fh:
        for number, line in enumerate(fh, 1):
            try:
                row = json.loads(line)
                kit = kits.setdefault(row["kit"], None) or Kit(os.path.join(folder, row["kit"]))
                kits[row["kit"]] = kit
                found = list(faults(row, kit))
            except (ValueError, KeyError, TypeError, OSError) as x:
                row, found = {}, ["not understood: %r" % x]
            if row.get("id") in ids or row.get("text") in texts:
                found.append("id or text twice")
            ids.add(row.get("id"))
            texts.add(row.get("text"))
            count.update(row.get("tags", []))
            for f in found:
                bad += 1
                print("line %d %s: %s" % (number, row.get("id"), f))
    print("%d notes, %d kits, %d faults" % (len(texts), len(kits), bad))
    print(", ".join("%s %d" % x for x in sorted(count.items())))
    return 1 if bad or not texts else 0


if __name__ == "__main__":
    sys.exit(main())
