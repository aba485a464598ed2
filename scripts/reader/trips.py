"""Whole trips as talk, cut into windows that look like notes."""
import json,glob,random,os
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
def windows(a):
    T=json.load(open(f'{a}/trips.json'))
    out=[]
    for t in T:
        rows={f"{r}/{x['frame']}":x for r,v in t['truth'].items() for x in v}
        order={k:i for i,k in enumerate(rows)}
        for ci,c in enumerate(t['clips']):
            U=c['say']; i=0
            spans=[]
            # whole-clip cuts and sliding ones
            while i<len(U):
                n=R.randint(2,9); j=i; w=0
                while j<len(U) and j-i<n and w+len(U[j][1].split())<=95: w+=len(U[j][1].split()); j+=1
                j=max(j,i+1); spans.append((i,j)); i=j
            for i in range(0,len(U),2):
                n=R.randint(1,6); j=i; w=0
                while j<len(U) and j-i<n and w+len(U[j][1].split())<=95: w+=len(U[j][1].split()); j+=1
                spans.append((i,max(j,i+1)))
            for (i,j) in sorted(set(spans)):
                text='';marks=[];keys=[]
                for u in settled(U[i:j]):
                    s=u[1].strip()
                    if text: text+=' ' if text[-1] in '.!?,;:' else '. '
                    text+=s
                    for m in (u[2] if len(u)>2 else []): marks.append(m)
                fk=[]
                for m in marks:
                    w=m[2] if len(m)>2 else None
                    if m[1] in 'dmxv': continue
                    for k in (w if isinstance(w,list) else [w]):
                        if k in rows and k not in fk: fk.append(k)
                fk.sort(key=lambda k:order[k])
                fr=[]
                for k in fk:
                    x=rows[k]; f={}
                    for fld in('shutter','aperture','lens','filter','light','support','subject','focal_mm'):
                        v=x.get(fld)
                        if v in(None,'','*'): continue
                        f[fld]=str(v).split('~') if isinstance(v,str) and '~' in v else v
                    if any(m[1]=='n' and k in (m[2] if isinstance(m[2],list) else [m[2]]) for m in marks if len(m)>2): f['frame']=x['frame']
                    if x.get('status')=='wasted': f={q:v for q,v in f.items() if q=='frame'}; f['status']='wasted'
                    fr.append(f)
                mk=[]
                for m in marks:
                    w=m[2] if len(m)>2 else None
                    if m[1] in 'dm': mk.append([m[0],m[1],w if isinstance(w,str) and len(w)==1 else None])
                    elif m[1]=='v': mk.append([m[0],'v',w if isinstance(w,str) else 'other'])
                    elif m[1]=='x': mk.append([m[0],'x'])
                    else:
                        ws=w if isinstance(w,list) else [w]
                        ii=[fk.index(k) for k in ws if k in fk]
                        mk.append([m[0],m[1],ii if ii else 'roll'])
                out.append(dict(id=f"{t['name']}/{ci}/{i}-{j}",author=os.path.basename(a),kit=f"{a}/{t['kit']}",text=text,marks=mk,expect=dict(frames=fr),tags=['trip'],trip=1))
    return out
