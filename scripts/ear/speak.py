#!/usr/bin/env python3
"""Lets small, quick voices read the texts.

usage: speak.py TEXTS OUT MINUTES

Writes OUT.pcm (16 kHz, 16 bits, mono, one reading after another) and OUT.jsonl, an object a reading:
`at` and `n` in samples, `text`, `who`, `voice`, `watched` (kept out of the training). Needs flite, espeak-ng and festival with festvox-kallpc16k,
festvox-kdlpc16k and festvox-us-slt-hts. The voices that the program is tried out with are not among
them.
"""
import json
import random
import re
import subprocess
import sys
import tempfile
import time
from math import gcd
from pathlib import Path

import numpy as np
from scipy.io import wavfile
from scipy.signal import resample_poly

from texts import WATCHED

RATE = 16000
WATCHED_VOICES = ["kdl", "en-gb-scotland+m5"]
FESTIVAL = {"kal": "kal_diphone", "kdl": "ked_diphone", "slt-hts": "cmu_us_slt_arctic_hts"}
ESPEAK = ["en-us", "en-gb", "en-gb-x-rp", "en-029", "en-gb-scotland", "en-gb-x-gbclan", "en-gb-x-gbcwmd", "en-us-nyc"]
VARIANTS = "m1 m2 m3 m4 m6 m7 f1 f2 f3 f4 f5 klatt klatt4 linda edward adam steph michael belinda max".split()


def read(text, watched, dice):
    with tempfile.NamedTemporaryFile(suffix=".wav") as out:
        kind = dice.random()
        if watched:
            voice = dice.choice(WATCHED_VOICES)
        elif kind < 0.3:
            voice = dice.choice(["flite-slt", "flite-slt", "flite-kal16"])
        elif kind < 0.6:
            voice = dice.choice(["kal", "slt-hts"])
        else:
            voice = dice.choice(ESPEAK) + "+" + dice.choice(VARIANTS)
        pace = dice.uniform(0.8, 1.2)
        if voice in FESTIVAL:
            words = text.replace('"', "")
            order = ["text2wave", "-o", out.name, "-eval", f"(voice_{FESTIVAL[voice]})", "-eval", f"(Parameter.set 'Duration_Stretch {pace:.2f})"]
            subprocess.run(order, input=words, text=True, check=True, capture_output=True)
        elif voice.startswith("flite"):
            subprocess.run(["flite", "-voice", voice[6:], "--setf", f"duration_stretch={pace:.2f}", "-t", text, "-o", out.name], check=True, capture_output=True)
        else:
            order = ["espeak-ng", "-w", out.name, "-s", str(int(160 / pace)), "-p", str(dice.randint(30, 65)), "-v", voice, text]
            subprocess.run(order, check=True, capture_output=True)
        rate, sound = wavfile.read(out.name)
    return voice, rate, sound.astype(np.float32) / 32768


def trimmed(sound):
    loud = np.where(np.abs(sound) > 0.02 * np.abs(sound).max())[0]
    return sound[max(0, loud[0] - RATE // 50) : loud[-1] + RATE // 12] if len(loud) else sound[:0]


def main():
    texts, out, minutes = sys.argv[1:4]
    dice = random.Random("quick")
    lines = [json.loads(line) for line in Path(texts).read_text().splitlines()]
    dice.shuffle(lines)
    watched_s, said_s, began = 0.0, 0.0, time.time()
    with open(out + ".pcm", "wb") as pcm, open(out + ".jsonl", "w") as index:
        at = 0
        for line in lines:
            watched = line["who"] in WATCHED
            if time.time() - began > float(minutes) * 60:
                break
            # A twelfth for watching is enough.
            if watched and watched_s > said_s / 12:
                continue
            try:
                voice, rate, sound = read(line["text"], watched, dice)
            except subprocess.CalledProcessError:
                continue
            g = gcd(RATE, rate)
            sound = trimmed(resample_poly(sound, RATE // g, rate // g))
            if not RATE // 3 < len(sound) < 28 * RATE:
                continue
            sound = (sound / np.abs(sound).max() * 24000).astype(np.int16)
            pcm.write(sound.tobytes())
            index.write(json.dumps({"at": at, "n": len(sound), "voice": voice, "watched": watched, **line}) + "\n")
            index.flush()
            at += len(sound)
            said_s += len(sound) / RATE
            watched_s += len(sound) / RATE * watched
    print(f"{said_s / 3600:.2f} h, {watched_s / 3600:.2f} h of it watched, in {(time.time() - began) / 60:.0f} min")


main()
