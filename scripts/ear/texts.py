#!/usr/bin/env python3
"""What the voices read: notes as they were said, settings by chance, and plain English.

usage: texts.py NOTES_FOLDER > texts.jsonl

One JSON object a line: `text` as it is spoken, in words, with light punctuation; `who`, the author,
or `settings`, or `plain`. Whatever is written with digits, or as a recogniser would mangle it, is
left out: the ear learns to write what was said. Plain English comes from the World English Bible
(public domain; Debian's sword-text-web and diatheke), where they are installed.
"""
import json
import random
import re
import subprocess
import sys
import tomllib
from pathlib import Path

# Tried out on their recordings: never learnt from.
TESTED = {"ashlar", "calder", "maren", "okafor", "quill", "tully", "brannigan", "lindqvist", "voss"}
# Learnt from by nobody either; the training looks at them to see how far it is.
WATCHED = {"cardew", "castellan", "lowther", "penrose", "tran", "okonkwo"}
NOT_AS_SAID = {"asr", "mangled", "digits", "slip-light", "slip-heavy"}
MOST_WORDS = 36

UNITS = "one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
ORDINAL = {"one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth", "nine": "ninth", "twelve": "twelfth"}


def cardinal(n):
    if n < 10:
        return UNITS[n - 1]
    if n < 20:
        return TEENS[n - 10]
    if n < 100:
        return TENS[n // 10 - 2] + ("-" + UNITS[n % 10 - 1] if n % 10 else "")
    if n < 1000:
        return UNITS[n // 100 - 1] + " hundred" + (" and " + cardinal(n % 100) if n % 100 else "")
    return cardinal(n // 1000) + " thousand" + (" " + cardinal(n % 1000) if n % 1000 else "")


def nth(said):
    head, last = re.fullmatch(r"(.*?)(\w+)", said).groups()
    if last in ORDINAL:
        return head + ORDINAL[last]
    return head + (last[:-1] + "ieth" if last.endswith("y") else last + "th")


ORDINALS = {nth(w) for w in UNITS + TEENS + TENS}
NUMBER = set(UNITS + TEENS + TENS) | ORDINALS | {"hundred", "thousand", "hundredth", "thousandth", "oh"}


def one_way(text):
    """Numbers in one way of writing: a hyphen between tens and units, and nowhere else."""

    def joined(found):
        left, right = found.group(1), found.group(2)
        small = right.lower() in UNITS or right.lower() in {nth(u) for u in UNITS}
        if left.lower() in TENS and small:
            return left + "-" + right
        return left + " " + right if left.lower() in NUMBER and right.lower() in NUMBER else found.group(0)

    text = text.replace("\u2019", "'").replace("\u2014", ", ").replace("\u2026", "...")
    for _ in range(2):
        text = re.sub(r"\b([A-Za-z]+)-([A-Za-z]+)(?=\b)", joined, text)
    text = re.sub(r"\b([a-z]+ty) (one|two|three|four|five|six|seven|eight|nine)\b", lambda m: m.group(0), text)
    text = re.sub(r"\s+", " ", text).strip()
    text = text[:1].upper() + text[1:]
    return text if text[-1:] in ".!?" else text.rstrip(",;: ") + "."


def pieces(text):
    """A note in parts that one breath or two could say."""
    if len(text.split()) <= MOST_WORDS:
        return [text]
    parts, part = [], ""
    for sentence in re.split(r"(?<=[.!?;]) ", text):
        if part and len((part + sentence).split()) > MOST_WORDS:
            parts.append(part)
            part = ""
        part = (part + " " + sentence).strip()
    return [p for p in [*parts, part] if len(p.split()) <= MOST_WORDS + 10]


def as_said(text):
    return not re.search(r"[\d/+&*#@%=<>\[\]{}|_\\]", text) and text.isascii() and len(text.split()) > 1


def notes(folder):
    for person in sorted(p for p in folder.iterdir() if p.is_dir() and p.name not in TESTED):
        texts = []
        for line in (person / "notes.jsonl").read_text().splitlines() if (person / "notes.jsonl").exists() else []:
            note = json.loads(line)
            if not NOT_AS_SAID & set(note.get("tags", [])):
                texts.append(note["text"])
        for trip in json.loads((person / "trips.json").read_text()) if (person / "trips.json").exists() else []:
            texts += [said[1] for clip in trip["clips"] for said in clip.get("say", [])]
        for text in texts:
            for piece in pieces(one_way(text.replace("\u2019", "'"))) if as_said(text.replace("\u2019", "'").replace("\u2014", ", ").replace("\u2026", "...")) else []:
                yield {"text": piece, "who": person.name}


# ------------------------------------------------------------------ settings by chance
SPEEDS = [2, 3, 4, 5, 6, 8, 10, 13, 15, 20, 25, 30, 40, 45, 50, 60, 80, 90, 100, 125, 160, 180, 200, 250, 320, 350, 400, 500, 640, 750, 800, 1000, 1250, 1500, 1600, 2000, 3200, 4000]
STOPS = "1.2 1.4 1.7 1.8 2 2.2 2.4 2.5 2.8 3.2 3.3 3.5 4 4.5 4.8 5 5.6 6.3 6.7 7.1 8 9 9.5 10 11 12.5 13 14 16 18 19 20 22 25 27 32 45 64".split()
RATINGS = [6, 12, 20, 25, 32, 40, 50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 3200, 6400]
LENGTHS = [19, 20, 21, 24, 25, 28, 35, 38, 40, 45, 50, 55, 58, 60, 65, 75, 80, 85, 90, 100, 105, 110, 120, 127, 135, 150, 165, 180, 200, 210, 240, 250, 300, 360, 400, 500]
FILTERS = "yellow,orange,red,green,polariser,eight,twenty-one,three stop,six stop,ten stop,neutral density,grad,warm-up,diffuser,deep yellow,yellow-green".split(",")
LIGHT = "full sun,overcast,open shade,hazy,backlit,window light,flat light,indoors,dusk,sun going in and out,fog,light rain,heavy cloud,last light".split(",")
SUBJECTS = """harbour wall,net loft,chapel door,the slipway,crane,tide gauge,boatshed,rope walk,lighthouse,ferry,the pier,market hall,
old pump,weighbridge,signal box,kiln,mill race,sluice,gulls,a dog asleep,the baker,two kids on a wall,bandstand,footbridge,tram depot,allotments,
greenhouse,viaduct,the ticket booth,staircase,laundry line,shop window,bus shelter,the smithy,boats on the mud,sea wall,station clock,canteen,
the sorting office,orchard,a row of bicycles,back lane,cinema front,font,nave,the west door,headland,stile,drystone wall,hay barn""".replace("\n", "").split(",")
START = "Frame|Number|Exposure|Shot|Plate|Negative||||||Next,|Then|And|Now|Okay,|So|Right,".split("|")
AFTER = ["same again", "same as before", "same speed", "same stop", "filter off", "hand held", "on the tripod", "one for luck", "and again", "a stop more", "a stop less", "half a stop over", "two stops under", "wide open", "stopped right down", "as metered", "no filter", "on the sand bag", "self timer", "cable release", "mirror up", "didn't like it", "he blinked", "that one's wasted"]
CHAT = ["The tide's coming in, I'd better move.", "Bus at ten past, sandwich first.", "Nothing doing there, the light went.", "I should have brought the other bag.", "She said come back on Thursday.", "My fingers are frozen.", "Remind me to ring the lab.", "There was a seal, no picture of it.", "I've been stood here twenty minutes.", "Can't read my own writing.", "It costs four pounds fifty to park here.", "He's eighty-three and still rows."]


def short(n, dice):
    """One of the ways to say a whole number of two to four digits."""
    if n < 100:
        return cardinal(n)
    hundreds, rest = divmod(n, 100)
    ways = [cardinal(n), cardinal(n).replace(" and ", " "), "a" + cardinal(n)[3:] if n < 200 else cardinal(n)]
    if rest >= 10:
        ways += [cardinal(hundreds) + " " + cardinal(rest)] * 4
    if n < 1000 and rest >= 10:
        ways.append(" ".join("oh" if c == "0" else UNITS[int(c) - 1] for c in str(n)))
    if n >= 1000 and rest == 0 and n % 1000:
        ways += [cardinal(hundreds) + " hundred"] * 3
    return dice.choice(ways)


def speed(dice):
    n = dice.choice(SPEEDS)
    if n in (2, 4) and dice.random() < 0.7:
        return dice.choice({2: ["half a second", "a half", "one half"], 4: ["a quarter", "quarter of a second", "quarter second"]}[n])
    said = short(n, dice)
    kind = dice.random()
    if kind < 0.62:
        said = "a" + said[3:] if said.startswith("one hundred") and dice.random() < 0.5 else said
        part = nth(said)
        article = "" if part.startswith("a ") else dice.choice(["a ", "", "", "at a ", "one "] if n < 100 else ["a ", "", "", "at a "])
        if article == "a " and part[0] in "aeiou":
            article = "an "
        if article == "at a " and part[0] in "aeiou":
            article = "at an "
        return article + part + dice.choice(["", "", "", "", " of a second"])
    if kind < 0.72:
        return "one over " + said
    if kind < 0.76 and n < 20:
        return dice.choice([cardinal(dice.randint(1, 30)) + " seconds", "one second", "two seconds", "bulb, " + cardinal(dice.randint(2, 90)) + " seconds"])
    return said


def stop(dice):
    whole, _, part = dice.choice(STOPS).partition(".")
    said = cardinal(int(whole))
    if part:
        digits = " ".join(UNITS[int(c) - 1] for c in part)
        said += dice.choice([" ", " ", " point "]) + digits
        if part == "5" and dice.random() < 0.3:
            said = cardinal(int(whole)) + " and a half"
    return dice.choice(["", "", "", "f ", "f ", "at f ", "at ", "at ", "stop of "]) + said


def settings(count, names):
    dice = random.Random(7)
    for _ in range(count):
        parts = []
        for _ in range(dice.choice([1, 1, 1, 2, 2, 3])):
            start = dice.choice(START)
            number = cardinal(dice.randint(1, 37)) + dice.choice([""] * 14 + [" A", " B"])
            exposure = [speed(dice), stop(dice)]
            if dice.random() < 0.3:
                exposure.reverse()
            between = dice.choice([", ", " ", ", ", " and "])
            pieces = [between.join(exposure) if dice.random() < 0.85 else dice.choice(exposure)]
            if dice.random() < 0.6:
                pieces.insert(dice.choice([0, 0, 1]), dice.choice(SUBJECTS + names["place"]))
            if dice.random() < 0.2:
                pieces.append(dice.choice(FILTERS) + dice.choice([" on", " filter", " off", " still on"]))
            if dice.random() < 0.15:
                pieces.append(dice.choice(LIGHT))
            if dice.random() < 0.25:
                pieces.append(dice.choice(AFTER))
            if dice.random() < 0.12:
                pieces.append("the " + short(dice.choice(LENGTHS), dice) + dice.choice(["", " mil", " millimetre", " on"]))
            if dice.random() < 0.8:
                pieces.insert(0, (start + " " + number).strip())
            elif start.strip():
                pieces[0] = start + " " + pieces[0]
            said = dice.choice([", ", ", ", ", ", ". ", " "]).join(pieces)
            parts.append(said)
        if dice.random() < 0.12:
            film = dice.choice(names["film"]) if names["film"] else "the slow one"
            camera = dice.choice(names["camera"]) if names["camera"] else "the folder"
            parts.insert(0, dice.choice([f"Roll {cardinal(dice.randint(1, 60))}, {camera}, {film} at {short(dice.choice(RATINGS), dice)}",
                                         f"{film}, rated {short(dice.choice(RATINGS), dice)}, in {camera}",
                                         f"New roll, {film}, box speed", f"That's {film} finished, frame {cardinal(dice.randint(8, 37))} was the last"]))
        if dice.random() < 0.1:
            parts.append(dice.choice(CHAT))
        text = ". ".join(p.strip().rstrip(".") for p in parts)
        text = re.sub(r"(?<=[.] )([a-z])", lambda m: m.group(1).upper(), text)
        yield {"text": one_way(text), "who": "settings"}


def names(folder):
    """What the kits call their things, and places of the authors."""
    found = {"film": [], "camera": [], "place": []}
    for kit in sorted(folder.glob("*/kit-*.toml")):
        if kit.parent.name in TESTED | WATCHED:
            continue
        for kind, things in tomllib.loads(kit.read_text()).items():
            if kind in found and isinstance(things, list):
                for thing in things:
                    said = [thing.get("name", "")] + thing.get("said", []) if isinstance(thing, dict) else [thing]
                    found[kind] += [s for s in said if s.isascii() and not re.search(r"[\d/]", s)]
    return {k: sorted(set(v)) for k, v in found.items()}


BOOKS = ["Ruth 1-4", "Mark 1-16", "1Sam 1-12", "Jonah 1-4", "Luke 1-24", "Acts 1-28"]


def plain():
    for book in BOOKS:
        try:
            done = subprocess.run(["diatheke", "-b", "engWEB2015eb", "-f", "plain", "-k", book], capture_output=True, text=True)
        except FileNotFoundError:
            print("diatheke is missing: no plain English", file=sys.stderr)
            return
        for line in done.stdout.splitlines():
            text = re.sub(r"^.*?\d+:\d+:\s*", "", line)
            text = re.sub(r"[\u201c\u201d\u2018\u2019]", lambda m: "'" if m.group(0) in "\u2018\u2019" else "", text)
            if 6 <= len(text.split()) <= MOST_WORDS and as_said(text) and text[-1] in ".!?":
                yield {"text": one_way(text), "who": "plain"}


if __name__ == "__main__":
    folder, dice = Path(sys.argv[1]), random.Random(11)
    said = list(notes(folder))
    mine = list(settings(2600, names(folder)))
    other = list(plain())
    dice.shuffle(other)
    everything = said + mine + other[:900]
    dice.shuffle(everything)
    seen = set()
    for line in everything:
        if line["text"].lower() not in seen:
            seen.add(line["text"].lower())
            print(json.dumps(line))
