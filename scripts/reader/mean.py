"""The mean of several files of weights: mean.py OUT FILE... A file named twice counts twice.

Runs of one seed on a graphics processor part a little from each other; their mean swings less than each. Only runs
that began alike have a mean that means anything: those of two seeds do not.
"""
import json
import struct
import sys

import numpy as np

from train import write


def read(path):
    """features, and of each tensor: name, matrix"""
    with open(path, 'rb') as f:
        whole = f.read()
    size = struct.unpack('<I', whole[8:12])[0]
    head, data = json.loads(whole[12:12 + size]), whole[12 + size:]
    out = []
    for t in head['tensors']:
        rows, columns, at = t['rows'], t['columns'], t['at']
        if t['bytes'] == 1:
            lines = np.frombuffer(data, np.uint8, rows * (columns + 4), at).reshape(rows, columns + 4)
            scale = lines[:, :4].copy().view('<f4')
            out.append((t['name'], lines[:, 4:].view(np.int8).astype(np.float32) * scale))
        else:
            plain = np.frombuffer(data, '<f4', rows * columns, at)
            # A row is no matrix: only matrices are written in eight bits.
            out.append((t['name'], plain.reshape(rows, columns) if rows > 1 else plain))
    return head['features'], out


def main():
    out, *paths = sys.argv[1:]
    all_ = [read(p) for p in paths]
    features, first = all_[0]
    if any(f != features for f, _ in all_):
        sys.exit('the files were not made with the same features')
    write(out, features, [(name, sum(w[i][1] for _, w in all_) / len(all_)) for i, (name, _) in enumerate(first)])


if __name__ == '__main__':
    main()
