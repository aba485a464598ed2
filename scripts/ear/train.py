#!/usr/bin/env python3
"""Teaches the decoder to write what was said.

usage: train.py BASE.npz OUT SECONDS READINGS…      each READINGS.pcm with its READINGS.jsonl; one given
                                                    twice counts twice; LEARNT.pt among them is gone on from

The encoder stays as it is. The decoder gets low-rank differences. It is told nothing before, and
writes with times, as the program has it write. Whatever it thinks of times stays what it was
(Kullback-Leibler divergence to the model without the difference): the times of words come from it.
Writes OUT.pt as it goes on, and OUT.json: words wrong on the voices and people that were kept out.
"""
import json
import random
import sys
import time

import numpy as np
import torch
import torch.nn.functional as F

import sound as S
from model import END, FIRST_TIME, OPENING, Matrix, Whisper, speller, unpack

RATE = S.RATE
RANK = 32
BATCH = 64
LEARNING_RATE = 6e-4
MOST_S = 15.0  # the program cuts stretches here
MARGIN_S = 0.35  # and leaves so much before and behind the voice
TIME_S = 0.02
KEEP_TIMES = 0.5
KEEP_FIRST = 1.0
CLEAN = 0.4
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


class Readings:
    def __init__(self, stems, spell, place):
        sounds, self.taught, self.watched, at = [], [], [], 0
        for stem in stems:
            sounds.append(torch.from_numpy(np.fromfile(stem + ".pcm", np.int16)))
            for line in open(stem + ".jsonl"):
                r = json.loads(line)
                ids = [place.get(t) for t in spell(" " + r["text"])]
                if None in ids or r["n"] > (MOST_S - 0.8) * RATE or r["at"] + r["n"] > len(sounds[-1]):
                    continue
                r.update(at=r["at"] + at, ids=ids)
                (self.watched if r["watched"] else self.taught).append(r)
            at += len(sounds[-1])
        self.sound = torch.cat(sounds).to(DEVICE)

    def hours(self, part):
        return sum(r["n"] for r in part) / RATE / 3600


def groups(readings, dice, alone=False):
    """Readings one by one, or two or three of a voice with a pause between, as they fit a stretch."""
    by_voice = {}
    for r in readings:
        by_voice.setdefault(r["voice"], []).append(r)
    made = []
    for own in by_voice.values():
        dice.shuffle(own)
        i = 0
        while i < len(own):
            group, length = [own[i]], own[i]["n"] / RATE
            i += 1
            while not alone and i < len(own) and len(group) < 3 and length + own[i]["n"] / RATE < MOST_S - 2.5 and dice.random() < 0.6:
                group.append(own[i])
                length += own[i]["n"] / RATE + 0.5
                i += 1
            made.append((length, group))
    return made


def batches(readings, dice, size, alone=False):
    made = groups(readings, dice, alone)
    made.sort(key=lambda m: m[0] + dice.random())
    cut = [made[i : i + size] for i in range(0, len(made), size)]
    dice.shuffle(cut)
    return cut


def laid_out(batch, readings, dice, place, bank, clean, changed):
    """Sound of a batch with its noises, the tokens to be written, and what each place is."""
    rows, texts, longest = [], [], 0
    for _, group in batch:
        pace = dice.uniform(0.9, 1.12) if changed and dice.random() < 0.7 else 1.0
        at, parts, tokens = MARGIN_S * dice.uniform(0.6, 1.4), [], [place[FIRST_TIME]]
        timed = dice.random() < 0.5
        time_token = lambda s: place[FIRST_TIME] + min(1500, round(s / TIME_S))
        for k, r in enumerate(group):
            if k:
                gap = dice.uniform(0.15, 0.9)
                if timed:
                    tokens += [time_token(at), time_token(at + gap)]
                at += gap
            parts.append((r, at))
            tokens += r["ids"]
            at += r["n"] / RATE / pace
        tokens += [time_token(at), place[END]]
        end = at + MARGIN_S * dice.uniform(0.6, 1.4)
        rows.append((pace, parts, end))
        texts.append(tokens)
        longest = max(longest, end)
    n = int(longest * RATE) + 1
    out = torch.zeros(len(rows), n, device=DEVICE)
    for row, (pace, parts, _) in zip(out, rows):
        for r, at in parts:
            x = readings.sound[r["at"] : r["at"] + r["n"]].float() / 32768
            if pace != 1.0:
                x = F.interpolate(x[None, None], size=int(len(x) / pace), mode="linear", align_corners=True)[0, 0]
            i = int(at * RATE)
            x = x[: n - i]
            row[i : i + len(x)] += x
    out = S.recorded(out, bank, clean)
    for row, (_, _, end) in zip(out, rows):
        row[int(end * RATE) :] = 0  # what the program fills up with is silence
    spare = dice.choice([1.0, 1.0, 1.0, 2.0, 5.0])
    context = min(1500, (int((longest + spare) * 50) + 8) // 8 * 8)
    length = max(map(len, texts))
    opening = [place[t] for t in OPENING]
    tokens = torch.tensor([opening + t + [place[END]] * (length - len(t)) for t in texts], device=DEVICE)
    lengths = torch.tensor([len(t) for t in texts], device=DEVICE)
    return out, context, tokens, lengths


def loss_of(logits, plain, targets, lengths, first_time, full_stop):
    """`logits` from the last token of the opening on; `targets` what comes there."""
    steps = torch.arange(targets.shape[1], device=DEVICE)[None]
    alive = steps < lengths[:, None]
    times, words = logits[..., first_time:], logits[..., :first_time]
    plain_times = plain[..., first_time:]
    all_, all_times, all_words = logits.logsumexp(-1), times.logsumexp(-1), words.logsumexp(-1)
    is_time = targets >= first_time
    first = steps == 0
    # Words among words, and that a word comes; behind a full stop the old model may want a time.
    word = -words.gather(-1, targets.clamp(max=first_time - 1)[..., None])[..., 0] + all_words
    no_time = all_ - all_words
    open_ = torch.zeros_like(is_time)
    open_[:, 1:] = full_stop[targets[:, :-1].clamp(max=first_time - 1)] & ~is_time[:, :-1]
    p_old = (plain_times.logsumexp(-1) - plain.logsumexp(-1)).exp().clamp(1e-4, 1 - 1e-4)
    log_time, log_word = all_times - all_, all_words - all_
    as_before = -(p_old * log_time + (1 - p_old) * log_word)
    is_word = alive & ~is_time & ~first
    loss = (word * is_word).sum() + (torch.where(open_, as_before, no_time) * is_word).sum()
    # A time where one is due; which one, the old model says.
    loss = loss + (-log_time * (alive & is_time & ~first)).sum()
    old = plain_times.log_softmax(-1)
    moved = (old.exp() * (old - times.log_softmax(-1))).sum(-1)
    loss = loss + KEEP_TIMES * (moved * alive).sum()
    old = plain[:, 0].log_softmax(-1)
    loss = loss + KEEP_FIRST * (old.exp() * (old - logits[:, 0].log_softmax(-1))).sum()
    return loss / alive.sum()


@torch.no_grad()
def written(model, heard, seconds, place, first_time):
    """The likeliest tokens one after another, by the program's rules (speech/decoding.rs)."""
    opening = [place[t] for t in OPENING]
    batch = heard.shape[0]
    tokens = torch.tensor([opening + [place[FIRST_TIME]]] * batch, device=DEVICE)
    done = torch.zeros(batch, dtype=torch.bool, device=DEVICE)
    end = place[END]
    for _ in range(min(120, int(12 + 7 * max(seconds)))):
        logits = model.write(tokens, heard)[:, -1].float()
        logits[:, end + 1 : first_time] = -1e9
        word_best, word = logits[:, : end + 1].max(-1)
        times = logits[:, first_time:]
        last, before = tokens[:, -1], tokens[:, -2]
        opened = (last >= first_time) & ((before >= first_time) | (before < 0) | (tokens.shape[1] == len(opening) + 1))
        closed = (last >= first_time) & ~opened
        time_sum, time = times.logsumexp(-1), times.argmax(-1) + first_time
        new = torch.where((time_sum > word_best) & ~opened, time, word)
        new = torch.where(closed & (new < first_time), torch.full_like(new, end), new)
        new = torch.where(closed & (new >= first_time), last, new)
        new = torch.where(done, torch.full_like(new, end), new)
        done |= new == end
        tokens = torch.cat([tokens, new[:, None]], 1)
        if done.all():
            break
    return [[t for t in row[len(opening) :].tolist() if t < end] for row in tokens]


NUMBERS = set("""zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen
nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand half quarter third thirds point oh first second tenth tenths hundredth""".split())


def plain_words(text):
    text = "".join(c if c.isalnum() or c == "'" else " " for c in text.lower())
    return text.split()


def is_number(word):
    return word in NUMBERS or any(c.isdigit() for c in word) or word.endswith(("ieth", "teenth", "andth", "redth")) or word in "fourth fifth sixth seventh eighth ninth twelfth".split()


def distance(a, b):
    row = list(range(len(b) + 1))
    for i, x in enumerate(a):
        last, row[0] = row[0], i + 1
        for j, y in enumerate(b):
            last, row[j + 1] = row[j + 1], min(row[j + 1] + 1, row[j] + 1, last + (x != y))
    return row[-1]


@torch.no_grad()
def tried(model, readings, part, tokens_of, place, bank, filters, kept, first_time):
    """Words wrong: all, those that are no numbers, numbers as a sequence; by whether there is noise."""
    sums, shown = {}, []
    for clean in (1.0, 0.0):
        dice = random.Random(5)
        torch.manual_seed(5)
        for batch in batches(part, dice, 64, alone=True):
            sound, context, _, _ = laid_out(batch, readings, dice, place, bank, clean, False)
            heard = model.hear(S.log_mel(sound, filters, 2 * context))
            seconds = [b[0] for b in batch]
            for (_, group), ids in zip(batch, written(model, heard, seconds, place, first_time)):
                said = plain_words(group[0]["text"])
                got_text = b"".join(tokens_of[kept[i]] for i in ids).decode(errors="replace")
                got = plain_words(got_text)
                s = sums.setdefault(("clean" if clean else "noisy", "plain" if group[0]["who"] == "plain" else "notes"), [0] * 6)
                other = lambda w: [x for x in w if not is_number(x)]
                number = lambda w: [x for x in w if is_number(x)]
                for i, pick in enumerate((lambda w: w, other, number)):
                    s[2 * i] += distance(pick(said), pick(got))
                    s[2 * i + 1] += len(pick(said))
                if len(shown) < 24:
                    shown.append((group[0]["voice"], group[0]["text"], got_text))
    rates = {" ".join(k): {n: round(s[2 * i] / max(1, s[2 * i + 1]), 4) for i, n in enumerate(("all", "others", "numbers"))} | {"words": s[1]} for k, s in sums.items()}
    return rates, shown


def main():
    base, out, seconds, stems = sys.argv[1], sys.argv[2], float(sys.argv[3]), [a for a in sys.argv[4:] if not a.endswith(".pt")]
    began = time.time()
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    torch.manual_seed(1)
    dice = random.Random(1)
    filters, tokens_of, kept, tensors = unpack(base)
    kept = kept.tolist()
    place = {t: i for i, t in enumerate(kept)}
    first_time = place[FIRST_TIME]
    spell = speller(tokens_of)
    readings = Readings(stems, spell, place)
    # The watched are heard by watched voices only; plain English of any voice is watched too.
    spare = [r for r in readings.taught if r["who"] == "plain"][:60]
    readings.taught = [r for r in readings.taught if r not in spare]
    watched = dice.sample(readings.watched, min(260, len(readings.watched))) + spare
    filters = torch.tensor(filters, device=DEVICE)
    model = Whisper(tensors, RANK).to(DEVICE)
    del tensors
    for learnt in (a for a in sys.argv[4:] if a.endswith(".pt")):
        for name, matrices in torch.load(learnt).items():
            for to, value in zip(model.difference()[name], matrices):
                to.data.copy_(value)
    parameters = [p for p in model.parameters()]
    print(f"{len(readings.taught)} readings, {readings.hours(readings.taught):.2f} h, to learn from; {len(watched)} watched; "
          f"{sum(p.numel() for p in parameters)} numbers to learn", flush=True)
    full_stop = torch.tensor([tokens_of[t].strip()[-1:] in (b".", b"!", b"?", b",") if t < END else False for t in kept[:first_time]], device=DEVICE)
    bank = S.noises(60 if DEVICE == "cuda" else 5, 40 * RATE, DEVICE)
    results = {"taught_h": readings.hours(readings.taught), "readings": len(readings.taught), "voices": len({r["voice"] for r in readings.taught})}
    look = lambda: tried(model, readings, watched, tokens_of, place, bank, filters, kept, first_time)
    Matrix.scale = 0.0
    results["plain"], shown = look()
    print("plain", json.dumps(results["plain"]), flush=True)
    for s in shown[:8]:
        print("  ", *s, sep=" | ")
    Matrix.scale = 1.0
    began_training = time.time()
    until = began + seconds
    optimiser = torch.optim.AdamW(parameters, lr=LEARNING_RATE, weight_decay=0.01)
    step, epoch = 0, 0
    saved = began_training
    while time.time() < until:
        epoch += 1
        for batch in batches(readings.taught, dice, BATCH):
            gone = (time.time() - began_training) / max(1.0, until - began_training)
            if gone >= 1:
                break
            for group in optimiser.param_groups:
                group["lr"] = LEARNING_RATE * min(1.0, (step + 1) / 100) * max(0.02, 1 - gone)
            with torch.no_grad():
                sound, context, tokens, lengths = laid_out(batch, readings, dice, place, bank, CLEAN, True)
                mel = S.log_mel(sound, filters, 2 * context)
                with torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda"):
                    heard = model.hear(mel)
                    Matrix.scale = 0.0
                    plain = model.write(tokens[:, :-1], heard)[:, len(OPENING) - 1 :].float()
                    Matrix.scale = 1.0
            with torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda"):
                logits = model.write(tokens[:, :-1], heard)[:, len(OPENING) - 1 :].float()
            loss = loss_of(logits, plain, tokens[:, len(OPENING) :], lengths, first_time, full_stop)
            optimiser.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_(parameters, 1.0)
            optimiser.step()
            step += 1
            if step % 50 == 0 or step < 4:
                print(f"{time.time() - began:.0f} s, epoch {epoch}, step {step}, loss {loss.item():.4f}", flush=True)
            if time.time() - saved > 60:
                save(model, out)
                saved = time.time()
    save(model, out)
    results |= {"steps": step, "epochs": epoch}
    for scale in (0.5, 0.75, 1.0):
        Matrix.scale = scale
        results[f"scale {scale}"], shown = look()
        print(f"scale {scale}", json.dumps(results[f"scale {scale}"]), flush=True)
        json.dump(results, open(out + ".json", "w"), indent=1)
    for s in shown:
        print("  ", *s, sep=" | ")


def save(model, out):
    torch.save({n: (a.detach().half().cpu(), b.detach().half().cpu()) for n, (a, b) in model.difference().items()}, out + ".pt")


if __name__ == "__main__":
    main()
