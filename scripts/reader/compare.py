"""Values in one canonical form, so that what was said can be compared with what is true."""
import math
import re

MARKS = [1, 1.1, 1.2, 1.4, 1.6, 1.7, 1.8, 2, 2.2, 2.4, 2.5, 2.8, 3.2, 3.3, 3.5, 4, 4.5, 4.8, 5, 5.6, 6.3, 6.7, 7.1, 8, 9,
         9.5, 10, 11, 13, 14, 16, 18, 19, 20, 22, 25, 27, 29, 32, 36, 38, 40, 45, 51, 54, 57, 64, 90]


def txt(v):
    if v is None:
        return ""
    if isinstance(v, bool):
        return str(v).lower()
    if isinstance(v, float) and v == int(v):
        v = int(v)
    if isinstance(v, (list, tuple)):
        return "|".join(txt(x) for x in v)
    return str(v).strip()


def num(v):
    try:
        return float(re.sub(r"[^0-9.+\-]", "", txt(v).replace("\u2212", "-").replace(",", ".")))
    except ValueError:
        return None


def words(v):
    return " ".join(re.findall(r"[a-z0-9]+", txt(v).lower()))


def seconds(s):
    """'45s', '1m30s', '2 min', '1/125', '0.5', '4"' -> seconds, or None"""
    s = s.strip().lower().replace("\u2033", "s").replace('"', "s").replace(",", ".")
    m = re.fullmatch(r"(\d+)\s*/\s*(\d+(?:\.\d+)?)\s*(?:s|sec|secs|second|seconds)?", s)
    if m:
        return int(m.group(1)) / float(m.group(2)) if float(m.group(2)) else None
    m = re.fullmatch(r"(?:(\d+(?:\.\d+)?)\s*(?:m|min|mins|minutes?)\s*)?(?:(\d+(?:\.\d+)?)\s*(?:s|sec|secs|seconds?)?)?", s)
    if m and (m.group(1) or m.group(2)):
        return float(m.group(1) or 0) * 60 + float(m.group(2) or 0)
    return None


def c_shutter(v):
    s = txt(v)
    m = re.match(r"^(bulb|time|b|t)\b[\s:,(=]*(.*?)\)?$", s, re.I)
    if m:
        k = m.group(1)[0].upper()
        return (k, seconds(m.group(2)) if m.group(2) else None)
    return ("S", seconds(s)) if seconds(s) is not None else ("?", s.lower())


def eq_shutter(a, b):
    a, b = c_shutter(a), c_shutter(b)
    if a[0] != b[0]:
        return False
    if isinstance(a[1], float) and isinstance(b[1], float):
        return abs(a[1] - b[1]) <= 0.02 * max(a[1], b[1])
    return a[1] == b[1]


def c_aperture(v):
    x = num(re.sub(r"^\s*[fF]\s*[/.\-]?\s*", "", txt(v)))
    if x is None:
        return txt(v).lower()
    m = min(MARKS, key=lambda k: abs(math.log(max(x, 1e-9) / k)))
    return m if abs(x / m - 1) <= 0.015 else round(x, 2)


def c_frame(v):
    s = txt(v).upper().replace(" ", "")
    if re.fullmatch(r"0{2,}", s):
        return "00"
    m = re.fullmatch(r"0*(\d+)(A?)", s)
    return m.group(1) + m.group(2) if m else s


def c_filter(v):
    s = txt(v).lower().replace("polarizer", "polariser").replace(" filter", "")
    if s in ("none", "no", "no filter", "-", "off"):
        return frozenset(["none"])
    return frozenset(re.sub(r"[^a-z0-9]", "", p) for p in re.split(r"\+|,|&|\band\b", s) if p.strip())


STOP = set("the a an of on in at to and with from my his her its their off over is are was".split())


def stem(w):
    for e in ("ies", "es", "s"):
        if w.endswith(e) and len(w) > len(e) + 2:
            return w[:-len(e)]
    return w
