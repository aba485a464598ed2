"""Marks and truth to what the reader learns: roles, standing, openers, pairs, effects."""
import json,sys,re,collections,math,tomllib,functools
import compare as S
KITS={}
def kit(p):
    if p not in KITS: KITS[p]=tomllib.loads(open(p).read())
    return KITS[p]
SPEED=re.compile(r'slow|fast|speed|time|shutter|dial|long')
RING=re.compile(r'open|down|wid|ring|aperture|hole|iris|small|tight|shut ')
REAL='safln ibrckegpwou'.replace(' ','')
OPENV=re.compile(r"\b(next|then|another|again|same|ditto|one more|likewise|as before|also|after that|and one|once more|twice|following|now)\b")
def aslist(v): return v if isinstance(v,list) else [v]
def eqs(want,got):
    return any(w is not None and S.eq_shutter(str(w),got) for w in aslist(want))
def eqa(want,got):
    return any(w is not None and S.c_aperture(w)==S.c_aperture(got) for w in aslist(want))
def variants(f):
    v=f.get('one_of')
    if not v: return [f]
    b={k:x for k,x in f.items() if k!='one_of'}
    return [dict(b,**x) for x in v]
def match(m,role,f,K,roll={}):
    if not role: return None
    v=m['values']
    if role=='s':
        w=f.get('shutter')
        if w is None: return None
        for i,(c,wt) in enumerate(v['s']):
            if c in('B','T') and any(str(x).startswith(c) for x in aslist(w) if x): return 'shutter'
            if eqs(w,c): return 'shutter'
            if c.endswith('s') and eqs(w,'B '+c) : return 'shutter'
            cs=S.c_shutter(c)
            if any(S.c_shutter(str(x))[1]==cs[1] and cs[1] for x in aslist(w) if x): return 'shutter'
        return None
    if role=='a':
        w=f.get('aperture')
        if w is None: return None
        for c,wt in v['a']:
            if c in('widest','smallest'):
                for l in K.get('lens',[]):
                    if eqa(w,str(l.get(c))): return 'aperture'
            elif eqa(w,c): return 'aperture'
        return None
    if role=='f':
        L=K.get('lens',[])
        for i,wt in v['lens']:
            if f.get('lens') is not None and L[i]['name'] in aslist(f['lens']): return 'lens'
        for c,wt in v['mm']:
            for k in('focal_mm',):
                if f.get(k) is not None and any(x is not None and abs(float(x)-c)<0.5 for x in aslist(f[k])): return 'lens'
            if f.get('lens') is not None:
                for l in L:
                    if l['name'] in aslist(f['lens']):
                        z=l['focal_mm']
                        if (z[0]<=c<=z[1]) if isinstance(z,list) else abs(z-c)<0.5: return 'lens'
        if f.get('lens') is not None or f.get('focal_mm') is not None: return None
        return None
    if role=='l':
        w=f.get('filter')
        if w is None: return None
        if v['none'] and 'none' in [str(x) for x in aslist(w)]: return 'filter'
        F=K.get('filter',[])
        for i,wt in v['l']:
            for x in aslist(w):
                if x and S.c_filter(F[i]['name'])<=S.c_filter(x): return 'filter'
        if any(x and any(p in S.words(m['text']) for p in S.words(x).split()) for x in aslist(w)): return 'filter'
        return None
    if role=='n':
        w=f.get('frame')
        if w is None: return None
        return 'frame' if any(x is not None and S.c_frame(x)==S.c_frame(c) for c,_ in v['n'] for x in aslist(w)) else None
    if role=='i':
        return 'ei' if any(x is not None and any(abs(float(x)-c)<0.01 for c,_ in v['i']) for x in aslist(f.get('ei'))) else None
    if role=='b':
        F=K.get('film',[])
        return 'film' if f.get('film') is not None and any(F[i]['name'] in aslist(f['film']) for i,_ in v['b']) else None
    if role=='c':
        C=K.get('camera',[])
        return 'camera' if f.get('camera') is not None and any(C[i]['name'] in aslist(f['camera']) for i,_ in v['c']) else None
    if role in 'gp':
        k={'g':'light','p':'support'}[role]
        return k if f.get(k) is not None else None
    if role=='w': return 'status' if 'wasted' in aslist(f.get('status')) else None
    if role=='o': return 'process' if f.get('process') is not None else None
    if role=='u':
        for k in('subject','place'):
            w=f.get(k)
            for x in aslist(w):
                if x:
                    a=[S.stem(t) for t in S.words(x).split() if t not in S.STOP]; b={S.stem(t) for t in S.words(m['text']).split()}
                    if any(t in b for t in a): return k
        return None
    return None
# What it costs that a frame is told the same dial twice.
TWICE=0.6
def together(frames,marks,mt):
    """frames as lists of those that are told as one: alike but for their number, and counted or run through"""
    n=len(frames); units=[]; a=0
    bare=[[{q:v for q,v in f.items() if q!='frame'} for f in fr] for fr in frames]
    counts={m['values']['k'] for m in marks if m['role']=='k'}
    while a<n:
        b=a
        while b+1<n and bare[b+1]==bare[a]: b+=1
        size=b-a+1
        numbered={k for k in range(a,b+1) for i,m in enumerate(marks) if m['role']=='n' and mt[i][k]}
        run=a in numbered and b in numbered and size>=3
        if size>1 and len(numbered)<size and (size in counts or run): units.append(list(range(a,b+1))); a=b+1
        else: units.append([a]); a+=1
    return units
def frames_of(marks,mt,i):
    """the frames that a mark was said to set; a frame number belongs to the frame that has it"""
    w=marks[i]['where']
    if not isinstance(w,list): return set()
    if marks[i]['role']=='n':
        has={k for k,r in enumerate(mt[i]) if r=='frame'}
        if len(has&set(w))>=1 and len(w)>1 and not LISTED.search(marks[i]['text'].lower()): return has&set(w)
        if len(has)==1 and not(has&set(w)): return has
    return set(w)
LISTED=re.compile(r"[a-z0-9]+(?:,| and | to | ?- ?| through )+[a-z0-9]|^(?:[a-z]+ ){2,}|^\d+ \d+")
def where_segments(marks,mt,n):
    """the one frame that each mark stands with, where its frames are given"""
    seg=[None]*len(marks); at=None
    for i,m in enumerate(marks):
        w=sorted(k for k in frames_of(marks,mt,i) if k<n)
        if len(w)==1: at=w[0]
        elif w and (at is None or at not in w): at=w[0]
        if m['role']=='v' and OPENV.search(m['text'].lower()):
            nxt=next((sorted(frames_of(marks,mt,j)) for j in range(i+1,len(marks)) if frames_of(marks,mt,j)),None)
            if nxt and len(nxt)==1 and nxt[0]<n: at=nxt[0]
        seg[i]=at if w or m['role'] not in REAL else None
        if not w and m['role'] in 'xmd': seg[i]=at
    return seg
def where_openers(marks,mt,pair,n,numbers=True):
    """the mark that each frame begins with: its number, else a word for the next, else the first of its own"""
    opener=[None]*n; used=set()
    steers=[i for i,m in enumerate(marks) if m['role']=='v' and (m['where']=='next' or OPENV.search(m['text'].lower()))]
    for k in range(n):
        named=[i for i,m in enumerate(marks) if m['role']=='n' and k in pair[i]]
        number=[i for i in named if mt[i][k]=='frame' and len(pair[i])==1] or [i for i in named if mt[i][k]=='frame'] or [i for i in named if pair[i]=={k}] or named
        if number and numbers:
            opener[k]=number[0]; used.add(number[0]); continue
        own=[i for i,m in enumerate(marks) if pair[i]=={k} and m['role'] in REAL and m['role'] not in 'kc' and i not in used]
        first=[i for i,m in enumerate(marks) if pair[i] and min(pair[i])==k and m['role'] in REAL and m['role'] not in 'kc' and i not in used]
        at=min(own) if own else None
        lead=[]
        for i in steers:
            if i in used: continue
            if at is not None and i<at and not any(pair[j] and k not in pair[j] for j in range(i,at)): lead.append(i)
            if at is None and k and opener[k-1] is not None and i>opener[k-1]: lead.append(i)
        if lead: opener[k]=lead[0]
        elif own: opener[k]=at
        elif first: opener[k]=first[0]
        else:
            # "Another", "two of those": frames of which nothing else is said begin with their count.
            counted=[i for i,m in enumerate(marks) if m['role']=='k' and pair[i] and min(pair[i])==k and i not in used]
            if not counted: continue
            opener[k]=counted[0]
        used.add(opener[k])
    return opener
def shift_ap(a,st): return a*2**(-st/2)
def note(x):
    """-> dict of targets"""
    K=kit(x['kit']); marks=[]
    for mk,sm in zip(x['marks'],x['seen']['marks']):
        if sm is None: continue
        d=dict(sm); d['text']=mk[0]; d['role']=mk[1]; d['where']=mk[2] if len(mk)>2 else None
        marks.append(d)
    marks.sort(key=lambda m:(m['from'],m['to']))
    # no overlaps
    out=[]
    for m in marks:
        if out and m['from']<out[-1]['to']: m['from']=out[-1]['to']
        if m['from']<m['to']: out.append(m)
    marks=out
    frames=[variants(f) for f in x['expect'].get('frames',[])]
    n=len(frames); N=len(marks); roll=x['expect'].get('roll') or {}
    mt=[[next((r for f in fr for r in [match(m,m['role'] if m['role'] not in 'md' else '',f,K)] if r),None) for fr in frames] for m in marks]
    rollm=[match(m,m['role'],roll,K) if m['role'] in 'ibcro' else ('roll' if m['role']=='r' else None) for m in marks]
    explicit=[set() for _ in marks]
    newstyle=any(isinstance(m['where'],list) or m['where']=='roll' for m in marks)
    T=dict(marks=marks,n=n)
    # segmentation: each mark to the frame that it stands with; frames counted or run through together as one
    seg=[None]*N
    if n:
        units=together(frames,marks,mt)
        U=len(units)
        NEG=-1e9
        best=[[NEG]*(N+1) for _ in range(U+1)]; back=[[0]*(N+1) for _ in range(U+1)]
        best[0][0]=0
        settings=[i for i,m in enumerate(marks) if m['role'] in 'sae' and m['role']!='']
        late={i for i,m in enumerate(marks) if m['role']=='n' and settings and i>settings[-1] and any(mt[i])}
        if len(late)<2 or any(m['role']=='n' and i not in late and any(mt[i]) for i,m in enumerate(marks)): late=set()
        def gain(i,u,first):
            m=marks[i]; g=0
            if i in late: return 0
            ks=units[u]; hit=any(mt[i][k] for k in ks)
            if m['role'] in REAL and m['role'] not in 'eck':
                if hit: g=3 if m['role']=='n' else 1
                elif m['role'] in 'san': g=-1.5 if any(mt[i]) else -0.3
                elif any(mt[i]): g=-0.7
            if first and m['role']=='v' and OPENV.search(m['text'].lower()): g+=0.3
            if first and u and m['role'] in 'gpu' : g-=0.01
            return g
        for k in range(U):
            for i in range(N+1):
                b=best[k][i]
                if b<=NEG/2: continue
                s=0; told=set()
                if b>best[k+1][i]: best[k+1][i]=b-0.05; back[k+1][i]=i
                for j in range(i,N):
                    s+=gain(j,k,j==i)
                    # one frame has each of its dials once: said again, it is the next frame's
                    if marks[j]['role'] in 'safn' and any(mt[j][q] for q in units[k]) and j not in late:
                        if marks[j]['role'] in told: s-=TWICE
                        told.add(marks[j]['role'])
                    if b+s>best[k+1][j+1]: best[k+1][j+1]=b+s; back[k+1][j+1]=i
        i=N
        for k in range(U,0,-1):
            j=back[k][i]
            for t in range(j,i):
                seg[t]=units[k-1][0]
                last=units[k-1][-1]
                if last!=seg[t] and marks[t]['role']=='n' and mt[t][last] and not mt[t][seg[t]]: seg[t]=last
            i=j
    if newstyle and n:
        seg=where_segments(marks,mt,n)
    own=[[i for i in range(N) if seg[i]==k] for k in range(n)]
    pair=[set() for _ in range(N)]
    FIELDS={'shutter':'s','aperture':'a','lens':'f','filter':'l','frame':'n','ei':'i','film':'b','camera':'c','light':'g','support':'p','status':'w','process':'o','subject':'u','place':'u'}
    unexpl=[]
    for k in range(n):
        fr=frames[k][0]
        fields=[f for f in FIELDS if any(v.get(f) is not None for v in frames[k])]
        for f in fields:
            c=[i for i in range(N) if mt[i][k]==f]
            e=[i for i in c if seg[i]==k]
            if newstyle:
                e=[i for i in c if k in frames_of(marks,mt,i)] or [i for i in e if not isinstance(marks[i]['where'],list)]
            if f in('subject','place'):
                # all own subject marks; else the latest before, else the first after
                if e:
                    for i in e: pair[i].add(k)
                    continue
            if f in('light','support') and e:
                for i in e: pair[i].add(k)
                continue
            if e:
                for i in e: pair[i].add(k)
                continue
            if f in('light','support'):
                # shared only if the same words in expectation
                c=[i for i in c if marks[i]['role']==FIELDS[f]]
            lo=min(own[k]) if own[k] else (max([max(own[q]) for q in range(k) if own[q]],default=-1)+1)
            before=[i for i in c if i<lo]; after=[i for i in c if i>=lo]
            if before: pair[before[-1]].add(k)
            elif after: pair[after[0]].add(k)
            else:
                # a metered or withdrawn value that stands after all
                rr=FIELDS[f]
                if rr in 'sa':
                    md=[i for i in range(N) if marks[i]['role'] in 'md' and any(match(marks[i],rr,v,K) for v in frames[k])]
                    md=[i for i in md if i<=(max(own[k]) if own[k] else N)]
                    if md: pair[md[-1]].add(k); continue
                unexpl.append((k,f))
    # a mark matching in its own segment, whatever the field
    for i in range(N):
        if newstyle and isinstance(marks[i]['where'],list): continue
        if seg[i] is not None and mt[i][seg[i]]: pair[i].add(seg[i])
    # effects
    eff={}
    for i,m in enumerate(marks):
        if m['role']!='e' or not n: continue
        e=m['values']['e']; ks=[seg[i]] if seg[i] is not None else []
        if isinstance(m['where'],list): ks=[k for k in m['where'] if k<n] or ks
        if not e: eff[i]=('none',0,None); continue
        A=e['amount']; k=ks[0] if ks else 0; res=None
        comps=[f[0].get('comp_stops') for f in frames]
        num=lambda v:[float(z) for z in aslist(v) if z is not None and str(z)!=''] if v is not None else []
        aps=[[S.num(z) for v in fr for z in aslist(v.get('aperture')) if z] for fr in frames]
        shs=[[S.c_shutter(str(z))[1] for v in fr for z in aslist(v.get('shutter')) if z] for fr in frames]
        empties=[q for q in range(n) if not own[q]]
        # bracket: several frames spread around, not each with its own words
        def spread():
            ss=set(round(c,2) for v in comps for c in num(v) if c)
            return len(ss)>=1 and n>=2 and len([q for q in range(n) if num(comps[q]) and any(num(comps[q]))])>=1
        if n>=2 and len(empties)>=1 and (spread() or len(empties)>=n-2):
            vals=[(tuple(a),tuple(s),str(c)) for a,s,c in zip(aps,shs,comps)]
            if len(set(vals))>1: res=('bracket',0,None)
        if res is None:
            for kk in ks:
                cs=num(comps[kk])
                hit=[c for c in cs if abs(abs(c)-A)<0.06 and c]
                alsoa=[i2 for i2 in range(N) if kk in pair[i2] and marks[i2]['role'] in 'sa']
                dial='s' if SPEED.search(m['text'].lower()) else 'a' if RING.search(m['text'].lower()) else None
                steps=[A,A/2,A/3] if e['clicks'] else [A]
                ba=[(None,z) for q in range(kk) for z in aps[q] if z]+[(i2,S.num(c)) for i2 in range(N) for c,w in marks[i2]['values']['a'][:2] if marks[i2]['role'] in 'amd' and i2<=i+4 and c not in('widest','smallest')]
                bs=[(None,z) for q in range(kk) for z in shs[q] if z]+[(i2,S.c_shutter(c)[1]) for i2 in range(N) for c,w in marks[i2]['values']['s'][:2] if marks[i2]['role'] in 'smd' and i2<=i+4]
                ea=any(kk in pair[q] and marks[q]['role']=='a' for q in range(N)); es=any(kk in pair[q] and marks[q]['role']=='s' for q in range(N))
                either='one_of' in x['expect']['frames'][kk] and (not ea or not es)
                if hit and (ea or es or True) and not either and not(len(cs)==0):
                    res=('comp',1 if hit[0]>0 else -1,None)
                    if None in aslist(x['expect']['frames'][kk].get('comp_stops')) and False: res=None
                if res: 
                    # comp may stand beside an explained change
                    pass
                if not ea and aps[kk] and dial!='s':
                    for sg in(1,-1):
                        for i2,b in reversed(ba):
                            if any(abs(math.log2(shift_ap(b,sg*t)/z))<0.12 for z in aps[kk] for t in steps):
                                res=('either' if either else 'aperture',sg,i2); break
                        if res and res[0] in('aperture','either'): break
                if (res is None or res[0]=='comp') and not es and shs[kk] and dial!='a':
                    for sg in(1,-1):
                        for i2,b in reversed(bs):
                            if b and any(z and abs(math.log2(b*2**(sg*t)/z))<0.2 for z in shs[kk] for t in steps):
                                res=('either' if either else 'shutter',sg,i2); break
                        if res and res[0] in('shutter','either'): break
                if res: break
        if res is None: res=('none',0,None)
        eff[i]=res
        for kk in ks: pair[i].add(kk)
        if res[2] is not None:
            for kk in ks:
                pair[res[2]].add(kk)
                f={'aperture':'aperture','shutter':'shutter'}.get(res[0])
                if f: unexpl[:]=[u for u in unexpl if u!=(kk,f)]
    for i,m in enumerate(marks):
        if m['role']=='k' and seg[i] is not None and not(newstyle and isinstance(m['where'],list)):
            c=m['values']['k'] or 1
            if c<=n: pair[i]|=set(range(min(seg[i],n-c),min(seg[i],n-c)+c)) if c>1 else {seg[i]}
        if newstyle and m['role'] not in 'vxmd' and not(m['role']=='k' and (m['values']['k'] or 1)>n):
            pair[i]|={k for k in frames_of(marks,mt,i) if k<n}
    # openers
    rng=set()
    opener=where_openers(marks,mt,pair,n)
    told=[o for o in opener if o is not None]
    if told!=sorted(told):
        other=where_openers(marks,mt,pair,n,numbers=False); told=[o for o in other if o is not None]
        if told==sorted(told): opener=other
    last=None
    size={}
    for k in range(n):
        if opener[k] is None:
            if last is None: last=-1
            opener[k]=last  # expansion of the one before
        else: last=opener[k]
    for k in range(1,n):
        o=opener[k]
        if o is not None and o>=0 and marks[o]['role']=='n' and opener[k-1]!=o:
            p=opener[k-1]
            if p is not None and p>=0 and marks[p]['role']=='n' and sum(1 for q in range(n) if opener[q]==p)>1:
                rng.add(o)
    isr=[bool(rollm[i]) or m['where']=='roll' or m['role']=='r' for i,m in enumerate(marks)]
    uns=set(u for e in x['expect'].get('unsure',[]) for u in e.split('|'))
    RF={'s':'shutter','a':'aperture','f':'lens','l':'filter','n':'frame','i':'ei','b':'film','c':'camera','e':'comp_stops','g':'light'}
    T.update(opener=opener,pair=[sorted(p) for p in pair],eff=eff,rng=sorted(rng),roll=isr,unexpl=unexpl,
             doubt=[RF.get(m['role']) in uns or (m['role']=='f' and 'focal_mm' in uns) or (m['role']=='e' and bool(uns&{'aperture','shutter'})) for m in marks])
    return T
