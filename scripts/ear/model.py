"""Whisper in PyTorch, as small as it can be, with low-rank differences on the decoder.

Shapes and names are those of the ggml file (whisper.cpp); the arithmetic is that of the reference
implementation (Radford et al., 2022). `pack` makes the weights small enough to travel: blocks of 32
with one scale (ggml's q8_0), and of the token table what is ASCII.
"""
import json
import math
import struct
import sys

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

END, OPENING, FIRST_TIME, VOCABULARY = 50257, [50258, 50259, 50359], 50364, 51865
HEADS = 8
# Tokens are numbered by how common they are: as many of the first stay, and all that the texts use.
COMMON = 14000
SPLIT = r"'s|'t|'re|'ve|'m|'ll|'d| ?\p{L}+| ?\p{N}+| ?[^\s\p{L}\p{N}]+|\s+(?!\S)|\s+"


def read_ggml(path):
    """Mel filters, tokens, tensors by name."""
    with open(path, "rb") as f:
        f.read(48)
        bands, bins = struct.unpack("<2i", f.read(8))
        filters = np.frombuffer(f.read(bands * bins * 4), np.float32).reshape(bands, bins)
        tokens = [f.read(struct.unpack("<I", f.read(4))[0]) for _ in range(struct.unpack("<i", f.read(4))[0])]
        tensors = {}
        while head := f.read(12):
            rank, length, kind = struct.unpack("<3i", head)
            shape = struct.unpack(f"<{rank}i", f.read(4 * rank))[::-1]
            name = f.read(length).decode()
            kind = {0: np.float32, 1: np.float16}[kind]
            tensors[name] = np.frombuffer(f.read(math.prod(shape) * np.dtype(kind).itemsize), kind).reshape(shape)
    return filters, tokens, tensors


def speller(tokens):
    """A text to tokens."""
    import tiktoken

    return tiktoken.Encoding("whisper", pat_str=SPLIT, mergeable_ranks={t: i for i, t in enumerate(tokens[:END])}, special_tokens={}).encode


def pack(ggml, texts, out):
    filters, tokens, tensors = read_ggml(ggml)
    spell = speller(tokens)
    kept = {i for i, t in enumerate(tokens) if all(32 <= b < 127 for b in t) and i < COMMON}
    for line in open(texts):
        kept.update(spell(" " + json.loads(line)["text"]))
    kept = sorted(kept) + list(range(END, VOCABULARY))
    text = b"".join(struct.pack("<H", len(t)) + t for t in tokens)
    packed = {"filters": filters, "tokens": np.frombuffer(text, np.uint8), "kept": np.array(kept, np.int32)}
    for name, value in tensors.items():
        value = value.astype(np.float32)
        if name == "decoder.token_embedding.weight":
            value = value[kept]
        if value.ndim < 2 or "positional" in name or "conv" in name or name.endswith("bias"):
            packed[name] = value.astype(np.float16 if "conv" in name and value.ndim == 3 else np.float32)
            continue
        blocks = value.reshape(-1, 32)
        scale = (np.abs(blocks).max(1) / 127).astype(np.float16)
        packed[name + ":8"] = np.round(blocks / np.maximum(scale.astype(np.float32), 1e-12)[:, None]).astype(np.int8).reshape(value.shape)
        packed[name + ":s"] = scale
    np.savez(out, **packed)


def unpack(path):
    stored = np.load(path)
    tensors, text, tokens, at = {}, stored["tokens"].tobytes(), [], 0
    while at < len(text):
        n = struct.unpack_from("<H", text, at)[0]
        tokens.append(text[at + 2 : at + 2 + n])
        at += 2 + n
    for name in stored.files:
        if name.endswith(":8"):
            value, scale = stored[name].astype(np.float32), stored[name[:-2] + ":s"].astype(np.float32)
            tensors[name[:-2]] = (value.reshape(-1, 32) * scale[:, None]).reshape(value.shape)
        elif not name.endswith(":s") and name not in ("filters", "tokens", "kept"):
            tensors[name] = stored[name].astype(np.float32)
    return stored["filters"], tokens, stored["kept"], tensors


class Matrix(nn.Module):
    """A frozen matrix with a low-rank difference."""

    def __init__(self, weight, bias, rank):
        super().__init__()
        self.register_buffer("weight", weight)
        self.register_buffer("bias", bias)
        self.a = self.b = None
        if rank:
            self.a = nn.Parameter(torch.randn(rank, weight.shape[1]) / math.sqrt(weight.shape[1]))
            self.b = nn.Parameter(torch.zeros(weight.shape[0], rank))

    scale = 1.0

    def forward(self, x):
        y = F.linear(x, self.weight, self.bias)
        if self.a is not None and Matrix.scale:
            y = y + Matrix.scale * F.linear(F.linear(x, self.a), self.b)
        return y


class Norm(nn.Module):
    def __init__(self, weight, bias):
        super().__init__()
        self.register_buffer("weight", weight)
        self.register_buffer("bias", bias)

    def forward(self, x):
        return F.layer_norm(x, x.shape[-1:], self.weight, self.bias)


class Attention(nn.Module):
    def __init__(self, get, name, rank):
        super().__init__()
        for part in ("query", "key", "value", "out"):
            setattr(self, part, Matrix(get(f"{name}.{part}.weight"), get(f"{name}.{part}.bias"), rank))

    def forward(self, x, other=None, causal=False):
        source = x if other is None else other
        split = lambda t: t.unflatten(-1, (HEADS, -1)).transpose(1, 2)
        y = F.scaled_dot_product_attention(split(self.query(x)), split(self.key(source)), split(self.value(source)), is_causal=causal)
        return self.out(y.transpose(1, 2).flatten(2))


class Block(nn.Module):
    def __init__(self, get, name, rank, cross):
        super().__init__()
        norm = lambda n: Norm(get(f"{name}.{n}.weight"), get(f"{name}.{n}.bias"))
        self.attn, self.attn_ln = Attention(get, f"{name}.attn", rank), norm("attn_ln")
        if cross:
            self.cross_attn, self.cross_attn_ln = Attention(get, f"{name}.cross_attn", rank), norm("cross_attn_ln")
        self.up = Matrix(get(f"{name}.mlp.0.weight"), get(f"{name}.mlp.0.bias"), rank)
        self.down = Matrix(get(f"{name}.mlp.2.weight"), get(f"{name}.mlp.2.bias"), rank)
        self.mlp_ln, self.cross = norm("mlp_ln"), cross

    def forward(self, x, sound=None):
        x = x + self.attn(self.attn_ln(x), causal=self.cross)
        if self.cross:
            x = x + self.cross_attn(self.cross_attn_ln(x), sound)
        return x + self.down(F.gelu(self.up(self.mlp_ln(x))))


class Whisper(nn.Module):
    def __init__(self, tensors, rank):
        super().__init__()
        get = lambda name: torch.tensor(tensors[name]) if name in tensors else None
        for name in ("conv1", "conv2"):
            self.register_buffer(name, get(f"encoder.{name}.weight"))
            self.register_buffer(name + "_bias", get(f"encoder.{name}.bias").flatten())
        for name in ("encoder.positional_embedding", "decoder.positional_embedding", "decoder.token_embedding.weight"):
            self.register_buffer(name.replace(".", "_"), get(name))
        self.encoder = nn.ModuleList(Block(get, f"encoder.blocks.{i}", 0, False) for i in range(6))
        self.decoder = nn.ModuleList(Block(get, f"decoder.blocks.{i}", rank, True) for i in range(6))
        self.ln_post = Norm(get("encoder.ln_post.weight"), get("encoder.ln_post.bias"))
        self.ln = Norm(get("decoder.ln.weight"), get("decoder.ln.bias"))

    @torch.no_grad()
    def hear(self, mel):
        x = F.gelu(F.conv1d(mel, self.conv1, self.conv1_bias, padding=1))
        x = F.gelu(F.conv1d(x, self.conv2, self.conv2_bias, stride=2, padding=1)).transpose(1, 2)
        x = x + self.encoder_positional_embedding[: x.shape[1]]
        for block in self.encoder:
            x = block(x)
        return self.ln_post(x)

    def write(self, tokens, sound):
        """Logits over the kept tokens; `tokens` are places in them."""
        x = F.embedding(tokens, self.decoder_token_embedding_weight) + self.decoder_positional_embedding[: tokens.shape[1]]
        for block in self.decoder:
            x = block(x, sound)
        return self.ln(x) @ self.decoder_token_embedding_weight.T

    def difference(self):
        """The matrices of the difference by the ggml name of what they change."""
        names = {"up": "mlp.0", "down": "mlp.2"}
        found = {}
        for name, part in self.decoder.named_modules():
            if isinstance(part, Matrix):
                layer, _, inner = name.partition(".")
                found[f"decoder.blocks.{layer}.{names.get(inner, inner)}.weight"] = (part.a, part.b)
        return found


if __name__ == "__main__":
    pack(*sys.argv[1:4])
