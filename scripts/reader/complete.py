"""Marks that a note lacks, added from its truth: the words of a subject, "wide open", "without"."""
import re

import compare as S

END_OF_RING = re.compile(r"wide open|fully open|as wide as|(stopped|shut|closed) (right|all the way|fully) down|right down|all the way (down|open)|smallest")
BARE = re.compile(r"\b(without|off|bare|nothing on|no filter|took it off|clear)\b")
CHANGE = re.compile(r"\b(slower|faster|twice|doubl\w*|halv\w*|half (as|the|of|that)|quadrupl\w*|next speed|(stopped|shut|closed) (it )?down (one|two|half|a|\d)|opened? (it )?(up )?(one|two|half|a|\d)|tighter|brighter|darker|to (suit|match|compensate|balance))\b|\bone (over|under)$")
WAY = re.compile(r"^(slower|faster|wider|smaller|open(ed|ing)?( it)?( up)?|clos(ed|ing)( it)?( down)?|down|up|brighter|darker|under|over|plus|minus|tighter|shut|stopp(ed|ing)( it)?( down)?|less|more|longer|shorter)$")
PARTS = set('.;:!?—')


def listed(v):
    return v if isinstance(v, list) else [v]


def keywords(v):
    return [S.stem(w) for w in S.words(v).split() if w not in S.STOP]


def complete(x):
    """adds to x['marks'] in place"""
    frames = x['expect'].get('frames', [])
    relabel(x, frames)
    join_ways(x)
    spans = placed(x)
    where = any(len(m) > 2 and isinstance(m[2], list) for m in x['marks'])
    for k, f in enumerate(frames):
        for field in ('subject', 'place'):
            wants = [w for w in listed(f.get(field)) if w]
            if not wants or None in listed(f.get(field)):
                continue
            marked = [m for m in x['marks'] if m[1] == 'u' and (not where or len(m) < 3 or not isinstance(m[2], list) or k in m[2])]
            have = {S.stem(w) for m in marked for w in S.words(m[0]).split()}
            if any(keywords(w) and sum(q in have for q in keywords(w)) * 2 >= len(keywords(w)) for w in wants):
                continue
            for w in wants:
                found = find(x['text'], spans, set(keywords(w)) - have)
                if found:
                    spans = insert(x, spans, found, [k] if where else None)
                    break


def relabel(x, frames):
    aperture = any(f.get('aperture') or f.get('one_of') for f in frames)
    bare = any('none' in [str(v) for v in listed(f.get('filter'))] for f in frames)
    for m in x['marks']:
        t = m[0].lower()
        if m[1] in 'vsa' and CHANGE.search(t) and not re.search(r"\d{2}|meter|as before", t):
            m[1] = 'e'
            if len(m) > 2 and not isinstance(m[2], list):
                del m[2:]
        elif m[1] == 'v' and aperture and END_OF_RING.search(t):
            m[1] = 'a'
        elif m[1] == 'v' and bare and BARE.search(t):
            m[1] = 'l'
        else:
            continue
        if len(m) > 2:
            del m[2:]


def join_ways(x):
    """"one stop" and "slower" beside it are one change"""
    spans = placed(x)
    out = []
    for m, s in zip(x['marks'], spans):
        last = out[-1] if out else None
        if last and s and last[1] and re.fullmatch(r"[ ,]{0,2}(on )?(it )?", x['text'][last[1][1]:s[0]]):
            a, b = last[0], m
            e, v = (a, b) if a[1] == 'e' else (b, a)
            if e[1] == 'e' and v[1] in 'va' and WAY.match(v[0].lower()):
                span = (last[1][0], s[1])
                out[-1] = ([x['text'][span[0]:span[1]], 'e'] + list(e[2:]), span)
                continue
        out.append((m, s))
    x['marks'] = [m for m, _ in out]


def placed(x):
    at = 0
    out = []
    for m in x['marks']:
        p = x['text'].find(m[0], at)
        if p < 0:
            out.append(None)
            continue
        out.append((p, p + len(m[0])))
        at = p + len(m[0])
    return out


def find(text, spans, wanted):
    """the longest stretch of unmarked words with the wanted ones, stop words between them allowed"""
    taken = [s for s in spans if s]
    words = [(m.start(), m.end(), S.stem(S.words(m.group()))) for m in re.finditer(r"[A-Za-z0-9]+(?:['’][a-z]+)?", text)]
    free = [not any(a < e and s < b for a, b in taken) for s, e, _ in words]
    best = None
    for i, (s, _, w) in enumerate(words):
        if not free[i] or w not in wanted:
            continue
        end, n, gap = i, 1, 0
        for j in range(i + 1, len(words)):
            between = text[words[j - 1][1]:words[j][0]]
            if not free[j] or PARTS & set(between) or gap > 2:
                break
            if words[j][2] in wanted:
                end, n, gap = j, n + 1, 0
            else:
                gap += 1
        if best is None or n > best[0]:
            best = (n, s, words[end][1])
    return best and best[1:]


def insert(x, spans, found, where):
    mark = [x['text'][found[0]:found[1]], 'u'] + ([where] if where else [])
    at = next((i for i, s in enumerate(spans) if s and s[0] >= found[1]), len(spans))
    x['marks'].insert(at, mark)
    new = placed(x)
    if new[at] != tuple(found):  # the same words stand earlier: leave it
        del x['marks'][at]
        return spans
    return new
