#!/usr/bin/env python3
"""The learnt difference as the program reads it.

usage: write.py EAR.pt MODEL.bin SCALE OUT

    file   = "spooltalk ear 1\\n" fits:32 count:u32 { matrix }        ; little-endian
    matrix = name-length:u32 name rows:u32 columns:u32 rank:u32 a b   ; a: rank × columns, b: rows × rank, 16-bit floats

`b × a` is to be added to the matrix of that ggml name. `fits` is the BLAKE3 hash of the model's
decoder.positional_embedding, which no two models share and no quantising touches.
"""
import struct
import sys

import torch
from blake3 import blake3

from model import read_ggml


def main():
    learnt, model, scale, out = sys.argv[1], sys.argv[2], float(sys.argv[3]), sys.argv[4]
    matrices = torch.load(learnt)
    _, _, tensors = read_ggml(model)
    parts = [b"spooltalk ear 1\n", blake3(tensors["decoder.positional_embedding"].tobytes()).digest(), struct.pack("<I", len(matrices))]
    for name, (a, b) in sorted(matrices.items()):
        rank, columns = a.shape
        parts += [struct.pack("<I", len(name)), name.encode(), struct.pack("<3I", b.shape[0], columns, rank)]
        parts += [a.half().numpy().tobytes(), (b.float() * scale).half().numpy().tobytes()]
    with open(out, "wb") as file:
        file.write(b"".join(parts))


main()
