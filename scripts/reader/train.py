"""Trains the reader: examples and the base encoder in, the file of weights out; see ../train-reader.

The net is that of src/language/tag/net.rs. With --folds N it first trains N teachers, each without a part of the
people, and lets them say how sure one can be of people one has not met: the reader then learns from the marks and
from what was thought of each person by the teacher that never met them.
"""
import argparse
import gzip
import json
import math
import os
import pickle
import random
import struct
import time

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

HIDDEN, HEADS, LAYERS = 384, 12, 6
MOST_PIECES, MOST_TOKENS = 256, 150
# Of a mention: begins a frame, ends a run, is doubted, holds for the roll; of what begins a frame: it was told before.
BITS = 5
PAIR = 96  # width of what says whether two mentions belong to one frame
# Dropped while learning: one feature of a token, all of a token's, all of a note's; a token's pieces.
DROP_FEATURE, DROP_TOKEN, DROP_ALL, DROP_PIECE = 0.1, 0.03, 0.03, 0.04
# What each question weighs: roles 1, standing, the five yes-or-no questions, effects, pairs.
WEIGHTS = dict(stand=0.5, bits=0.6, effect=0.2, pair=0.7)


def arguments():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument('data')
    p.add_argument('base')
    p.add_argument('out')
    p.add_argument('--without', default='', help='people to leave out, by comma; how the reader does on them is printed')
    p.add_argument('--epochs', type=float, default=12)
    p.add_argument('--steps', type=int, default=0)
    p.add_argument('--seed', type=int, default=1)
    p.add_argument('--lr', type=float, default=4e-4)
    p.add_argument('--batch', type=int, default=64)
    p.add_argument('--joins', type=float, default=0.25, help='how many notes get another of the same person behind them')
    p.add_argument('--folds', type=int, default=0, help='teachers that each leave out a part of the people')
    p.add_argument('--teachers', default='', help='folder of teachers made before, or to keep them in')
    p.add_argument('--teacher', type=int, default=-1, help='make this teacher alone and stop')
    p.add_argument('--soft', type=float, default=0.4, help='what the teachers weigh against the marks')
    p.add_argument('--workers', type=int, default=-1)
    return p.parse_args()


class Layer(nn.Module):
    def __init__(self):
        super().__init__()
        self.qkv = nn.Linear(HIDDEN, 3 * HIDDEN)
        self.o = nn.Linear(HIDDEN, HIDDEN)
        self.n1 = nn.LayerNorm(HIDDEN, eps=1e-12)
        self.i = nn.Linear(HIDDEN, 4 * HIDDEN)
        self.d = nn.Linear(4 * HIDDEN, HIDDEN)
        self.n2 = nn.LayerNorm(HIDDEN, eps=1e-12)

    def forward(self, x, mask, p):
        b, l, _ = x.shape
        q, k, v = self.qkv(x).view(b, l, 3, HEADS, HIDDEN // HEADS).permute(2, 0, 3, 1, 4)
        drop = p if self.training else 0
        y = F.scaled_dot_product_attention(q, k, v, attn_mask=mask, dropout_p=drop).transpose(1, 2).reshape(b, l, HIDDEN)
        x = self.n1(x + F.dropout(self.o(y), p, self.training))
        return self.n2(x + F.dropout(self.d(F.gelu(self.i(x))), p, self.training))


class Net(nn.Module):
    def __init__(self, vocab, features, roles, effects):
        super().__init__()
        self.word = nn.Embedding(vocab, HIDDEN)
        self.pos = nn.Embedding(MOST_PIECES, HIDDEN)
        self.typ = nn.Parameter(torch.zeros(HIDDEN))
        self.n0 = nn.LayerNorm(HIDDEN, eps=1e-12)
        self.feat = nn.EmbeddingBag(features, HIDDEN, mode='sum', include_last_offset=True)
        nn.init.normal_(self.feat.weight, std=0.02)
        self.layers = nn.ModuleList(Layer() for _ in range(LAYERS))
        self.role = nn.Linear(HIDDEN, 2 * roles + 1)
        self.stand = nn.Linear(HIDDEN, 3)
        self.bits = nn.Linear(HIDDEN, BITS)
        self.eff = nn.Linear(HIDDEN, effects)
        self.pa = nn.Linear(HIDDEN, PAIR)
        self.pb = nn.Linear(HIDDEN, PAIR)
        self.pq = nn.Linear(HIDDEN, 1)
        self.pk = nn.Linear(HIDDEN, 1)
        self.dist = nn.Embedding(32, 1)
        nn.init.zeros_(self.dist.weight)

    def encode(self, pieces, token, mask, bag, offsets, tokens, p=0.1):
        """pieces, token: batch by length; `token` says whose piece it is, `tokens` for none; a bag of features a token"""
        b, l = pieces.shape
        f = self.feat(bag, offsets).view(b, tokens, HIDDEN)
        f = torch.cat([f, f.new_zeros(b, 1, HIDDEN)], 1)
        at = token.unsqueeze(-1).expand(-1, -1, HIDDEN)
        x = self.word(pieces) + self.pos.weight[:l] + self.typ + torch.gather(f, 1, at)
        x = F.dropout(self.n0(x), p, self.training)
        for layer in self.layers:
            x = layer(x, mask[:, None, None, :], p)
        # The mean of the pieces of each token.
        total = x.new_zeros(b, tokens + 1, HIDDEN).scatter_add_(1, at, x)
        n = x.new_zeros(b, tokens + 1).scatter_add_(1, token, torch.ones_like(token, dtype=x.dtype))
        return (total / n.clamp(min=1).unsqueeze(-1))[:, :tokens]

    def pair(self, t):
        i = torch.arange(t.shape[1], device=t.device)
        d = (i[:, None] - i[None, :]).clamp(-64, 64)
        bucket = (torch.sign(d) * torch.log2(d.abs().float() + 1).round() + 8).long()
        both = self.pa(t) @ self.pb(t).transpose(1, 2) / math.sqrt(PAIR)
        return both + self.pq(t) + self.pk(t).transpose(1, 2) + self.dist(bucket).squeeze(-1)

    def answers(self, seen):
        return dict(role=self.role(seen).float(), stand=self.stand(seen).float(), bits=self.bits(seen).float(),
                    effect=self.eff(seen).float(), pair=self.pair(seen).float())

    def start(self, base):
        names = {'emb.word': 'word.weight', 'emb.pos': 'pos.weight', 'emb.typ': 'typ', 'emb.n.w': 'n0.weight',
                 'emb.n.b': 'n0.bias'}
        own = self.state_dict()
        for k in base.files:
            if k != 'special':
                t = torch.tensor(base[k].astype(np.float32))
                assert own[names.get(k, k)].shape == t.shape, k
                own[names.get(k, k)].copy_(t)
        self.load_state_dict(own)


class Task:
    """the examples, and batches of them"""

    def __init__(self, data, base):
        d = pickle.load(gzip.open(data))
        self.examples, self.features, self.roles, self.effects = d['examples'], d['features'], d['roles'], d['eff']
        self.base = np.load(base)
        self.vocab = self.base['emb.word'].shape[0]
        self.special = [int(v) for v in self.base['special']]

    def net(self):
        net = Net(self.vocab, len(self.features), len(self.roles), len(self.effects))
        net.start(self.base)
        return net

    def batch(self, examples, learning, folds=None):
        cls, sep, unk, pad = self.special
        b = len(examples)
        n = max(min(len(e['pieces']), MOST_TOKENS) for e in examples)
        rows, tokens = [], []
        for e in examples:
            row, tok = [cls], [n]
            for i, p in enumerate(e['pieces'][:MOST_TOKENS]):
                if len(row) + len(p) >= MOST_PIECES - 1:
                    break
                lost = learning and random.random() < DROP_PIECE
                row += [unk if lost else q for q in p]
                tok += [i] * len(p)
            rows.append(row + [sep])
            tokens.append(tok + [n])
        l = max(map(len, rows))
        mask = [[1] * len(r) + [0] * (l - len(r)) for r in rows]
        rows = [r + [pad] * (l - len(r)) for r in rows]
        tokens = [t + [n] * (l - len(t)) for t in tokens]
        bag, offsets = [], [0]
        for e in examples:
            none = learning and random.random() < DROP_ALL
            for i in range(n):
                if i < min(len(e['features']), MOST_TOKENS) and not none and not (learning and random.random() < DROP_TOKEN):
                    bag += [f for f in e['features'][i] if not (learning and random.random() < DROP_FEATURE)]
                offsets.append(len(bag))
        truth = self.truth(examples, b, n)
        fold = [folds[e['author']] if folds else -1 for e in examples]
        return dict(seen=[torch.tensor(rows), torch.tensor(tokens), torch.tensor(mask, dtype=torch.bool),
                          torch.tensor(bag, dtype=torch.long), torch.tensor(offsets)], tokens=n, truth=truth,
                    fold=torch.tensor(fold))

    def truth(self, examples, b, n):
        """-1 and below: not asked"""
        role = np.full((b, n), 0)
        stand = np.full((b, n), -1)
        bits = np.full((b, n, BITS), -1.0)
        effect = np.full((b, n), -1)
        pair = np.full((b, n, n), -1.0)
        for q, e in enumerate(examples):
            role[q, len(e['pieces']):] = -1
            marks = e['marks']
            for j, m in enumerate(marks):
                if m['t'] > n:
                    continue
                if m['role'] < 0:
                    role[q, m['f']:m['t']] = -1
                else:
                    role[q, m['f']] = 1 + 2 * m['role']
                    role[q, m['f'] + 1:m['t']] = 2 + 2 * m['role']
                stand[q, m['f']:m['t']] = m['st']
                again = e['again'][e['anchors'].index(j)] if j in e['anchors'] else -1
                bits[q, m['f']] = [float(j in e['anchors']), float(j in e['rng']), m['doubt'], m['roll'], again]
                if m['eff'] >= 0:
                    effect[q, m['f']] = m['eff']
                if m['role'] >= 0 and self.roles[m['role']] in 'xv' and j not in e['anchors']:
                    continue
                for k, o in enumerate(marks):
                    if o['f'] >= n or o['role'] < 0:
                        continue
                    if k in e['anchors']:
                        own = {e['anchors'].index(k)}
                    elif len(e['pair'][k]) == 1 and self.roles[o['role']] not in 'xv':
                        own = set(e['pair'][k])
                    else:
                        continue
                    mine = set(e['pair'][j]) | ({e['anchors'].index(j)} if j in e['anchors'] else set())
                    pair[q, m['f'], o['f']] = float(bool(own & mine))
        return dict(role=torch.tensor(role), stand=torch.tensor(stand), bits=torch.tensor(bits, dtype=torch.float),
                    effect=torch.tensor(effect), pair=torch.tensor(pair, dtype=torch.float))


def join(e, f):
    """two notes of one person, one behind the other"""
    off, anchors, marks = len(e['pieces']), len(e['anchors']), len(e['marks'])
    return dict(
        author=e['author'], pieces=e['pieces'] + f['pieces'], features=e['features'] + f['features'],
        marks=e['marks'] + [dict(m, f=m['f'] + off, t=m['t'] + off) for m in f['marks']],
        anchors=e['anchors'] + [x + marks for x in f['anchors']], again=e['again'] + f['again'], rng=e['rng'] + [x + marks for x in f['rng']],
        pair=e['pair'] + [[x + anchors for x in p] for p in f['pair']])


class Batches(torch.utils.data.IterableDataset):
    """batches without end, prepared beside the training; every worker draws by its own seed"""

    def __init__(self, task, examples, a, folds):
        self.task, self.examples, self.a, self.folds = task, examples, a, folds
        self.of = {}
        for e in examples:
            self.of.setdefault(e['author'], []).append(e)

    def __iter__(self):
        worker = torch.utils.data.get_worker_info()
        random.seed(self.a.seed * 1000 + (worker.id if worker else 0))
        while True:
            out = []
            for e in random.choices(self.examples, k=self.a.batch):
                for share in (self.a.joins, self.a.joins * 0.3):
                    f = random.choice(self.of[e['author']]) if random.random() < share else None
                    if f and len(e['pieces']) + len(f['pieces']) < MOST_TOKENS:
                        e = join(e, f)
                out.append(e)
            out.sort(key=lambda e: len(e['pieces']))
            yield self.task.batch(out, True, self.folds)


def to(device, batch):
    return dict(seen=[t.to(device, non_blocking=True) for t in batch['seen']], tokens=batch['tokens'],
                truth={k: t.to(device, non_blocking=True) for k, t in batch['truth'].items()}, fold=batch['fold'].to(device))


def loss(said, truth, soft, weight):
    """of every question that is asked; `soft`: what the teachers say, mixed with the marks in their `weight`"""
    total = 0.0
    for kind, logits in said.items():
        asked = truth[kind] >= 0
        if not asked.any():
            continue
        target, yes_or_no = truth[kind][asked], kind in ('bits', 'pair')
        if soft is not None:
            taught_so = soft[kind][asked]
            if not yes_or_no:
                target = F.one_hot(target, logits.shape[-1]).float()
            target = (1 - weight) * target + weight * (taught_so.sigmoid() if yes_or_no else taught_so.softmax(-1))
        of = F.binary_cross_entropy_with_logits if yes_or_no else F.cross_entropy
        total = total + WEIGHTS.get(kind, 1.0) * of(logits[asked], target)
    return total


def taught(teachers, batch):
    """what the teacher that never met each person says"""
    out = None
    with torch.no_grad():
        for k, teacher in enumerate(teachers):
            mine = batch['fold'] == k
            if not mine.any():
                continue
            said = teacher.answers(teacher.encode(*batch['seen'], batch['tokens']))
            if out is None:
                out = {name: torch.zeros_like(v) for name, v in said.items()}
            for name, v in said.items():
                out[name][mine] = v[mine]
    return out


def learn(task, examples, a, device, teachers=(), folds=None):
    torch.manual_seed(a.seed)
    net = task.net().to(device)
    encoder = [p for n, p in net.named_parameters() if n.startswith(('word', 'pos', 'typ', 'n0', 'layers'))]
    other = [p for n, p in net.named_parameters() if not n.startswith(('word', 'pos', 'typ', 'n0', 'layers'))]
    opt = torch.optim.AdamW([dict(params=encoder, lr=a.lr), dict(params=other, lr=a.lr * 5)], weight_decay=0.01, betas=(0.9, 0.98))
    steps = a.steps or int(a.epochs * len(examples) / a.batch)
    # A short rise, then half a cosine down to a fiftieth.
    rate = lambda s: min(1, (s + 1) / 200) * (0.02 + 0.98 * 0.5 * (1 + math.cos(math.pi * min(1, s / steps))))
    sch = torch.optim.lr_scheduler.LambdaLR(opt, rate)
    workers = a.workers if a.workers >= 0 else min(12, max(0, (os.cpu_count() or 1) - 2)) if device == 'cuda' else 0
    batches = iter(torch.utils.data.DataLoader(Batches(task, examples, a, folds), batch_size=None, num_workers=workers,
                                               prefetch_factor=8 if workers else None))
    mean = {k: v.clone().float() for k, v in net.state_dict().items()}
    net.train()
    began = time.time()
    for s in range(steps):
        batch = to(device, next(batches))
        with torch.autocast(device, dtype=torch.bfloat16, enabled=device == 'cuda'):
            soft = taught(teachers, batch) if teachers else None
            l = loss(net.answers(net.encode(*batch['seen'], batch['tokens'])), batch['truth'], soft, a.soft)
        opt.zero_grad(set_to_none=True)
        l.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        opt.step()
        sch.step()
        # The mean of the second half's weights is what is kept.
        if s >= steps // 2 and s % 5 == 0:
            keep = min(0.99, (s - steps // 2) / (s - steps // 2 + 50))
            for k, v in net.state_dict().items():
                mean[k].mul_(keep).add_(v.float(), alpha=1 - keep)
        if s % 200 == 0:
            print(s, steps, round(l.item(), 4), round(time.time() - began), flush=True)
    net.load_state_dict(mean)
    return net.eval()


def report(task, net, examples, device):
    """by person: notes in which every role is right, and in which every opener and pair is right too; then what was told before"""
    tally, before = {}, np.zeros((2, 2), int)
    with torch.no_grad():
        for i in range(0, len(examples), 64):
            chunk = examples[i:i + 64]
            batch = to(device, task.batch(chunk, False))
            said = net.answers(net.encode(*batch['seen'], batch['tokens']))
            truth = batch['truth']
            wrong_role = (said['role'].argmax(-1) != truth['role']) & (truth['role'] > 0)
            opens = (said['bits'][..., 0] > 0) != (truth['bits'][..., 0] > 0.5)
            wrong_open = opens & (truth['bits'][..., 0] >= 0)
            wrong_pair = ((said['pair'] > 0) != (truth['pair'] > 0.5)) & (truth['pair'] >= 0)
            asked = truth['bits'][..., 4] >= 0
            np.add.at(before, (truth['bits'][..., 4][asked].long().cpu().numpy(), (said['bits'][..., 4][asked] > 0).long().cpu().numpy()), 1)
            for q, e in enumerate(chunk):
                t = tally.setdefault(e['author'], [0, 0, 0])
                role = not wrong_role[q].any()
                frames = not wrong_open[q].any() and not wrong_pair[q].any()
                t[0] += 1
                t[1] += int(role)
                t[2] += int(role and frames)
    print('told before (rows) as told before (columns):', before.tolist())
    for author, (n, roles, all_) in sorted(tally.items()):
        print(f'{author}: {n} notes, every role {roles / n:.3f}, frames too {all_ / n:.3f}')


def write(path, features, weights):
    """the file of weights, as src/language/tag/weights.rs reads it; of each: name, matrix or row"""
    tensors, data = [], b''
    for name, w in weights:
        m = w if w.ndim == 2 else w.reshape(1, -1)
        small = name.startswith(('word', 'pos', 'feat', 'layers')) and w.ndim == 2
        at = len(data)
        if small:
            scale = np.abs(m).max(1) / 127
            scale[scale == 0] = 1
            q = np.clip(np.rint(m / scale[:, None]), -127, 127).astype(np.int8)
            data += b''.join(struct.pack('<f', float(x)) + r.tobytes() for x, r in zip(scale, q))
        else:
            data += m.astype('<f4').tobytes()
        tensors.append(dict(name=name, rows=m.shape[0], columns=m.shape[1], at=at, bytes=1 if small else 4))
    head = json.dumps(dict(features=features, tensors=tensors)).encode()
    with open(path, 'wb') as f:
        f.write(b'SPOOLRD1' + struct.pack('<I', len(head)) + head + data)


def parts(people, a):
    """which teacher never met whom; those that no teacher has met, any"""
    path = os.path.join(a.teachers or os.path.dirname(a.out) or '.', 'folds.json')
    if os.path.exists(path):
        known = json.load(open(path))
        return {p: known.get(p, 0) for p in people}
    folds = {p: i % a.folds for i, p in enumerate(people)}
    json.dump(folds, open(path, 'w'))
    return folds


def main():
    a = arguments()
    random.seed(a.seed)
    np.random.seed(a.seed)
    device = 'cuda' if torch.cuda.is_available() else 'cpu'
    torch.backends.cuda.matmul.allow_tf32 = True
    task = Task(a.data, a.base)
    without = set(filter(None, a.without.split(',')))
    learnt = [e for e in task.examples if e['author'] not in without and e['unexpl'] <= 1]
    asked = [e for e in task.examples if e['author'] in without and e['aug'] == 0]
    print(len(learnt), 'to learn from,', len(asked), 'to ask about, on', device, flush=True)
    people = sorted({e['author'] for e in learnt})
    folds = parts(people, a) if a.folds else None
    teachers = []
    for k in range(a.folds):
        path = os.path.join(a.teachers or os.path.dirname(a.out) or '.', f'teacher-{k}.pt')
        if a.teacher >= 0 and a.teacher != k:
            continue
        if a.teacher == k or not os.path.exists(path):
            teacher = learn(task, [e for e in learnt if folds[e['author']] != k], a, device)
            torch.save(teacher.state_dict(), path)
        else:
            teacher = task.net().to(device)
            teacher.load_state_dict(torch.load(path, map_location=device))
        teachers.append(teacher.eval())
    if a.teacher >= 0:
        return
    net = learn(task, learnt, a, device, teachers, folds)
    report(task, net, asked, device)
    write(a.out, task.features, [(k, v.float().cpu().numpy()) for k, v in net.state_dict().items()])


if __name__ == '__main__':
    main()
