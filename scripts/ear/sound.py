"""Log-mel as whisper.cpp makes it, and what lies between a mouth and a file: rooms, wind, traffic, phones."""
import math

import torch
import torch.nn.functional as F

RATE = 16000


def log_mel(sound, filters, frames):
    """`sound` [batch, samples], filled up with silence to `frames` steps of 10 ms."""
    padded = F.pad(F.pad(sound, (200, 0), mode="reflect"), (0, max(0, frames * 160 + 240 - sound.shape[1])))
    spectrum = torch.stft(padded, 400, 160, window=torch.hann_window(400, device=sound.device), center=False, return_complex=True)
    power = spectrum[..., :frames].abs() ** 2
    mel = (filters @ power).clamp(min=1e-10).log10()
    mel = torch.maximum(mel, mel.amax((1, 2), keepdim=True) - 8)
    return (mel + 4) / 4


def shaped(noise, gain):
    """Noise coloured by a gain for each frequency in Hz."""
    spectrum = torch.fft.rfft(noise)
    hz = torch.fft.rfftfreq(noise.shape[-1], 1 / RATE).to(noise.device)
    return torch.fft.irfft(spectrum * gain(hz), n=noise.shape[-1])


def wander(count, samples, step_s, device):
    """A slow curve about 0, one row each."""
    points = torch.randn(count, 1, max(2, int(samples / RATE / step_s) + 2), device=device)
    return F.interpolate(points, size=samples, mode="linear", align_corners=True)[:, 0]


def noises(count, samples, device):
    """A bank of noises of one power: wind in gusts, traffic, sea, machines, hiss."""
    bank = []
    for i in range(count):
        white = torch.randn(1, samples, device=device)
        kind = i % 5
        if kind in (0, 1):
            knee = 60 + 500 * torch.rand(1, device=device)
            x = shaped(white, lambda f: 1 / (1 + (f / knee) ** (1.5 + kind)))
            gusts = wander(1, samples, 0.25, device) * 0.5 + wander(1, samples, 1.2, device) * 0.7
            x = torch.tanh(x / x.std() * gusts.exp() / 2.5)
        elif kind == 2:
            x = shaped(white, lambda f: 1 / (1 + (f / 180)) ** 1.2) * (0.6 * wander(1, samples, 1.5, device)).exp()
        elif kind == 3:
            x = shaped(white, lambda f: 1 / (1 + f / 900)) * (0.5 * wander(1, samples, 2.0, device)).exp()
            t = torch.arange(samples, device=device) / RATE
            tone = 50 + 70 * torch.rand(1, device=device)
            x = x / x.std() + sum((0.6 / k) * torch.sin(2 * math.pi * k * tone * t) for k in range(1, 8))
        else:
            x = shaped(white, lambda f: 1 / (1 + f / 3000))
        bank.append(x / x.std())
    return torch.cat(bank)


def through_a_room(sound, dice):
    """A decaying tail of noise behind every sound; one in three stays dry."""
    batch, device = sound.shape[0], sound.device
    length = int(0.5 * RATE)
    t = torch.arange(length, device=device) / RATE
    decay = 0.04 + 0.5 * torch.rand(batch, 1, device=device) ** 2
    tail = torch.randn(batch, length, device=device) * (-6.9 * t / decay).exp()
    tail[:, : int(0.003 * RATE)] = 0
    wet = 0.35 * torch.rand(batch, 1, device=device) * (torch.rand(batch, 1, device=device) > 0.33)
    tail = tail / tail.norm(dim=1, keepdim=True) * wet
    tail[:, 0] = 1
    n = sound.shape[1] + length
    return torch.fft.irfft(torch.fft.rfft(sound, n) * torch.fft.rfft(tail, n), n)[:, : sound.shape[1]]


def through_a_phone(sound):
    """The band of a microphone and of its encoder, a lift of what makes speech clear, a fine grain."""
    batch, device = sound.shape[0], sound.device
    spectrum = torch.fft.rfft(sound)
    hz = torch.fft.rfftfreq(sound.shape[1], 1 / RATE).to(device)[None]
    low = 40 + 160 * torch.rand(batch, 1, device=device)
    narrow = torch.rand(batch, 1, device=device) < 0.15
    high = torch.where(narrow, torch.full_like(low, 3600), 5000 + 3000 * torch.rand(batch, 1, device=device))
    gain = 1 / (1 + (low / hz.clamp(min=1)) ** 4).sqrt() / (1 + (hz / high) ** 12).sqrt()
    lift = 1 + 0.5 * torch.rand(batch, 1, device=device) * (-(((hz - 3200) / 1500) ** 2)).exp()
    sound = torch.fft.irfft(spectrum * gain * lift, n=sound.shape[1])
    return sound


def recorded(speech, bank, clean):
    """Speech [batch, samples] in a room, with noise at 0 to 25 dB (a share `clean` without), through a phone."""
    batch, device = speech.shape[0], speech.device
    speech = through_a_room(speech, None)
    n = speech.shape[1]
    which = torch.randint(len(bank), (batch,), device=device)
    start = torch.randint(bank.shape[1] - n, (batch,), device=device)
    noise = bank[which[:, None], start[:, None] + torch.arange(n, device=device)]
    loud = speech.abs() > 0.02 * speech.abs().amax(1, keepdim=True)
    power = (speech**2 * loud).sum(1, keepdim=True) / loud.sum(1, keepdim=True).clamp(min=1)
    noise_power = (noise**2 * loud).sum(1, keepdim=True) / loud.sum(1, keepdim=True).clamp(min=1)
    db = torch.where(torch.rand(batch, 1, device=device) < clean, torch.full_like(power, 38.0), 25 * torch.rand(batch, 1, device=device))
    noise = noise * (power / noise_power.clamp(min=1e-12)).sqrt() * 10 ** (-db / 20)
    sound = through_a_phone(speech + noise)
    return sound / sound.abs().amax(1, keepdim=True).clamp(min=1e-6) * (0.15 + 0.8 * torch.rand(batch, 1, device=device))
