"""Whole trips as talk, cut into windows that look like notes."""
import json,glob,random,os
from align import aslist
R=random.Random(5)
def settled(said):
    """A value that is only put right later, outside these words, stands as it was said: with the frame of the words beside it."""
    out=[]
    for n,u in enumerate(said):
        marks=u[2] if len(u)>2 else []
        near=[m for v in said[n:n+2] for m in (v[2] if len(v)>2 else [])]
        fixes=any(m[1]=='v' and len(m)>2 and m[2] in('fix','undo') for m in near)
        frames=[m[2] for m in marks if len(m)>2 and m[1] not in 'dmxv']
        new=[]
        for m in marks:
            role=m[2] if len(m)>2 and isinstance(m[2],str) and len(m[2])==1 else None
            if m[1]=='d' and not fixes and role and role not in 'xvmd':
                if frames: new.append([m[0],role,frames[0]])
            else: new.append(m)
        out.append([u[0],u[1],new])
    return out
GEAR='flbicro'
def first_told(trip):
    """for each row, the utterance in which it is first told of, gear apart: gear may be put on long before"""
    out={}
    n=0
    for c in trip['clips']:
        for u in c['say']:
            for m in (u[2] if len(u)>2 else []):
                if m[1] in 'dmxv'+GEAR or len(m)<3: continue
                for k in aslist(m[2]): out.setdefault(k,n)
            n+=1
    return out
def spans(U):
    """stretches of a clip: as the program cuts it, longer, and from anywhere"""
    words=[len(u[1].split()) for u in U]
    def reach(i,n,most):
        j=i; w=0
        while j<len(U) and j-i<n and w+words[j]<=most: w+=words[j]; j+=1
        return max(j,i+1)
    out=set()
    for most,n in((45,99),(75,99),(110,99),(95,R.randint(2,9))):
        i=0
        while i<len(U): j=reach(i,n,most); out.add((i,j)); i=j
    for i in range(0,len(U),2): out.add((i,reach(i,R.randint(1,8),110)))
    return sorted(out)
def windows(a):
    T=json.load(open(f'{a}/trips.json'))
    out=[]
    for t in T:
        rows={f"{r}/{x['frame']}":x for r,v in t['truth'].items() for x in v}
        order={k:i for i,k in enumerate(rows)}
        told=first_told(t); at=0
        for ci,c in enumerate(t['clips']):
            U=c['say']; first=at; at+=len(U)
            for (i,j) in spans(U):
                text='';marks=[]
                for n,u in enumerate(settled(U[i:j])):
                    s=u[1].strip()
                    if text: text+=' ' if text[-1] in '.!?,;:' else '. '
                    text+=s
                    for m in (u[2] if len(u)>2 else []):
                        if m[1] in GEAR and len(m)>2 and (isinstance(m[2],list) or m[2] in rows):
                            # What is put on before a picture is spoken of is no part of it yet.
                            m=[m[0],m[1],[k for k in aslist(m[2]) if told.get(k,-1)<=first+i+n]]
                        marks.append(m)
                fk=[]
                for m in marks:
                    w=m[2] if len(m)>2 else None
                    if m[1] in 'dmxv': continue
                    for k in aslist(w):
                        if k in rows and k not in fk: fk.append(k)
                fk.sort(key=lambda k:order[k])
                fr=[]
                for k in fk:
                    x=rows[k]; f={}
                    for fld in('shutter','aperture','lens','filter','light','support','subject','focal_mm'):
                        v=x.get(fld)
                        if v in(None,'','*'): continue
                        f[fld]=str(v).split('~') if isinstance(v,str) and '~' in v else v
                    if any(m[1]=='n' and k in aslist(m[2]) for m in marks if len(m)>2): f['frame']=x['frame']
                    if x.get('status')=='wasted': f={q:v for q,v in f.items() if q=='frame'}; f['status']='wasted'
                    fr.append(f)
                mk=[]
                for m in marks:
                    w=m[2] if len(m)>2 else None
                    if m[1] in 'dm': mk.append([m[0],m[1],w if isinstance(w,str) and len(w)==1 else None])
                    elif m[1]=='v': mk.append([m[0],'v',w if isinstance(w,str) else 'other'])
                    elif m[1]=='x': mk.append([m[0],'x'])
                    elif w==[]: mk.append([m[0],m[1],[]])
                    else:
                        ii=[fk.index(k) for k in aslist(w) if k in fk]
                        mk.append([m[0],m[1],ii if ii else 'roll'])
                again=[told.get(k,-1)<first+i for k in fk]
                out.append(dict(id=f"{t['name']}/{ci}/{i}-{j}",author=os.path.basename(a),kit=f"{a}/{t['kit']}",text=text,marks=mk,expect=dict(frames=fr),tags=['trip'],trip=1,again=again))
    return out
