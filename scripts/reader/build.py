"""Marked notes to examples: build.py NOTES_DIR FEATURES_BIN PIECES WORK [COPIES]

Every note is copied some times with its marked words swapped for others of the same role, in lower case or
without punctuation; the program's own reader-features tells what the rules see of each."""
import json,random,re,subprocess,collections,pickle,gzip,sys,glob,os
from concurrent.futures import ThreadPoolExecutor
import align,trips
from complete import complete
R=random.Random(7)
SWAP='safnulgpxikbcmde'
ROOT,BIN,PIECES,WORK=sys.argv[1:5]
N_AUG=int(sys.argv[5]) if len(sys.argv)>5 else 2
notes=[]
for d in sorted(glob.glob(ROOT+'/*/')):
    d=d.rstrip('/')
    for l in open(d+'/notes.jsonl'):
        if not l.strip(): continue
        x=json.loads(l); x['author']=os.path.basename(d); x['kit']=f'{d}/{x["kit"]}'; x.setdefault('marks',[])
        if x['marks'] or not x['expect'].get('frames'):
            complete(x); notes.append(x)
    if os.path.exists(d+'/trips.json'): notes+=trips.windows(d)
pool=collections.defaultdict(list)
for x in notes:
    for m in x['marks']: pool[(x['kit'],m[1])].append(m[0])
anypool=collections.defaultdict(list)
for x in notes:
    for m in x['marks']: anypool[m[1]].append(m[0])
KITFREE=set('usagpxnkem')
def place(x):
    at=0; out=[]
    for m in x['marks']:
        p=x['text'].find(m[0],at)
        if p<0: out.append(None); continue
        out.append((p,p+len(m[0]))); at=p+len(m[0])
    return out
def compatible(a,b,role):
    # keep rough kind for m,d: digits/ordinals
    if role in 'md':
        k=lambda t:(bool(re.search(r'th\b|/|second',t)),bool(re.search(r'\bf\b|f\d|\.|point',t)))
        return k(a)==k(b)
    return True
def strip(text,spans,mode):
    """drop punctuation / lower; keeps span map"""
    out=[];pos=[]
    keep=lambda i,c: not(c in ',;:!?—–' or (c=='.' and not(i+1<len(text) and text[i+1].isdigit() and i>0 and text[i-1].isdigit())))
    m={}
    for i,c in enumerate(text):
        m[i]=len(out)
        if mode=='bare' and not keep(i,c): 
            continue
        out.append(c.lower())
    m[len(text)]=len(out)
    return ''.join(out),[None if s is None else (m[s[0]],m[s[1]]) for s in spans]
def augment(x):
    sp=place(x); text=x['text']; new=[];marks=[];at=0; spans=[]
    rate=R.choice([0.15,0.4,0.8])
    for m,s in zip(x['marks'],sp):
        if s is None: return None
        new.append(text[at:s[0]]); w=m[0]
        if m[1] in SWAP and R.random()<rate:
            src=pool[(x['kit'],m[1])] if (m[1] not in KITFREE or R.random()<0.5) else anypool[m[1]]
            for _ in range(4):
                c=R.choice(src)
                if compatible(w,c,m[1]): w=c; break
        st=sum(len(a) for a in new); new.append(w); spans.append((st,st+len(w))); at=s[1]
    new.append(text[at:]); t=''.join(new)
    r=R.random()
    if r<0.25: t,spans=strip(t,spans,'lower')
    elif r<0.5: t,spans=strip(t,spans,'bare')
    return dict(text=t,spans=spans)
out=[]
orig={}
for i,x in enumerate(notes):
    x['key']=i; out.append(dict(key=i,kit=x['kit'],text=x['text'],marks=x['marks'],aug=0))
    for a in range((N_AUG+1)//2 if x.get('trip') else N_AUG):
        y=augment(x)
        if y is None: continue
        mk=[[y['text'][s:e],m[1]] for m,(s,e) in zip(x['marks'],y['spans'])]
        if any(not m[0].strip() for m in mk): continue
        out.append(dict(key=i,kit=x['kit'],text=y['text'],marks=mk,aug=1))
with open(WORK+'/notes.jsonl','w') as f:
    for o in out: f.write(json.dumps(o)+'\n')
def seen(part):
    """the rules' reading of every so-manieth line; the first line names the features"""
    mine=open(WORK+'/notes.jsonl').readlines()[part::PARTS]
    return subprocess.run([BIN,PIECES],input=''.join(mine),stdout=subprocess.PIPE,check=True,text=True).stdout.splitlines()
PARTS=os.cpu_count() or 1
with ThreadPoolExecutor(PARTS) as pool: parts=list(pool.map(seen,range(PARTS)))
lines=[parts[0][0]]+[parts[i%PARTS][1+i//PARTS] for i in range(len(out))]
feat=json.loads(lines[0])['features']
ROLES='safnlibrckegpwouxv'
EFF=['none','aperture+','aperture-','shutter+','shutter-','comp+','comp-','bracket','either+','either-']
def under(m):
    """underlying role of a metered or withdrawn value; None: not known"""
    w=m.get('where')
    if isinstance(w,str) and len(w)==1 and w in ROLES: return w
    t=m['text'].lower()
    if re.search(r"(th|ths|second|seconds)\b|/\d|\bover\b|\bby\b",t) and not re.search(r'\bf ?/',t): return 's'
    if re.match(r"f\b|f ?/? ?\d",t) or re.search(r'\d\.\d|point',t): return 'a'
    return None
ex=[]; Ts={}
bad=0
for l in lines[1:]:
    o=json.loads(l); x=notes[o['key']]
    sm=o['seen']['marks']
    if o['aug']==0:
        y=dict(x); y['seen']=o['seen']; T=align.note(y); 
        # index of marks kept by align in the order of sorted marks: rebuild mapping
        idx=sorted([i for i,m in enumerate(sm) if m is not None],key=lambda i:(sm[i]['from'],sm[i]['to']))
        if len(idx)!=len(T['marks']): T=None
        Ts[o['key']]=(T,idx)
    T,idx=Ts[o['key']]
    if T is None: bad+=1; continue
    sp=[]; ok=True; last=0
    for i in idx:
        m=sm[i] if i<len(sm) else None
        if m is None: ok=False; break
        f=max(m['from'],last); 
        if f>=m['to']: ok=False; break
        sp.append((f,m['to'])); last=m['to']
    if not ok: bad+=1; continue
    M=[]
    for j,(i,m) in enumerate(zip(idx,T['marks'])):
        role=m['role']; st=0
        if role in 'md':
            st=1 if role=='m' else 2; role=under(m)
        e=T['eff'].get(j); ef=-1
        if m['role']=='e':
            ef=0
            if e: ef=EFF.index(e[0] if e[0] in('none','bracket') else e[0]+('+' if e[1]>0 else '-'))
        M.append(dict(f=sp[j][0],t=sp[j][1],role=ROLES.index(role) if role else -1,st=st,eff=ef,doubt=int(T['doubt'][j]),roll=int(T['roll'][j])))
    anchors=sorted(set(k for k in T['opener'] if k is not None and k>=0))
    pr=[]
    for j in range(len(M)):
        pr.append(sorted(set(anchors.index(T['opener'][k]) for k in T['pair'][j] if T['opener'][k] is not None and T['opener'][k]>=0)))
    # Whether the frame that an anchor begins was told before this stretch; -1: not known.
    told=x.get('again')
    again=[int(all(told[k] for k,o in enumerate(T['opener']) if o==j)) if told else -1 for j in anchors]
    ex.append(dict(author=x['author'],id=x['id'],key=o['key'],aug=o['aug'],pieces=o['seen']['pieces'],features=o['seen']['features'],marks=M,anchors=anchors,again=again,rng=T['rng'],pair=pr,unexpl=0 if x.get('trip') else len([1 for u in T['unexpl'] if u[1] in('shutter','aperture','frame')])))
print(len(ex),'examples',bad,'bad')
pickle.dump(dict(features=feat,roles=ROLES,eff=EFF,examples=ex),gzip.open(WORK+'/examples.pkl.gz','wb',compresslevel=4))
