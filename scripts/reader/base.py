"""The base encoder, cut down to the word pieces that notes need: base.py MODEL_DIR PIECES OUT."""
import json
import struct
import sys

import numpy as np

model, pieces, out = sys.argv[1:4]
raw = open(model + "/model.safetensors", "rb").read()
length = struct.unpack("<Q", raw[:8])[0]
head = json.loads(raw[8 : 8 + length])
vocabulary = json.load(open(model + "/tokenizer.json"))["model"]["vocab"]
table = open(pieces).read().split("\n")[:-1]


def tensor(name):
    a, b = head[name]["data_offsets"]
    assert head[name]["dtype"] == "F32"
    return np.frombuffer(raw[8 + length + a : 8 + length + b], dtype=np.float32).reshape(head[name]["shape"])


o = {
    "emb.word": tensor("embeddings.word_embeddings.weight")[[vocabulary[p] for p in table]],
    "emb.pos": tensor("embeddings.position_embeddings.weight")[:256],
    "emb.typ": tensor("embeddings.token_type_embeddings.weight")[0],
    "emb.n.w": tensor("embeddings.LayerNorm.weight"),
    "emb.n.b": tensor("embeddings.LayerNorm.bias"),
}
for i in range(6):
    p = f"encoder.layer.{i}."
    for kind in ("weight", "bias"):
        parts = [tensor(f"{p}attention.self.{x}.{kind}") for x in ("query", "key", "value")]
        o[f"layers.{i}.qkv.{kind}"] = np.concatenate(parts)
        for a, b in (("o", "attention.output.dense"), ("n1", "attention.output.LayerNorm"), ("i", "intermediate.dense"),
                     ("d", "output.dense"), ("n2", "output.LayerNorm")):
            o[f"layers.{i}.{a}.{kind}"] = tensor(f"{p}{b}.{kind}")
o = {k: v.astype(np.float16) for k, v in o.items()}
o["special"] = np.array([table.index(t) for t in ("[CLS]", "[SEP]", "[UNK]", "[PAD]")])
np.savez(out, **o)
