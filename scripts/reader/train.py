"""Trains the reader: examples and the base encoder in, the file of weights out; see ../train-reader."""
import argparse,gzip,pickle,random,math,time,json,os
import numpy as np, torch, torch.nn as nn, torch.nn.functional as F
ap=argparse.ArgumentParser()
ap.add_argument('data');ap.add_argument('base');ap.add_argument('out')
ap.add_argument('--without',default='');ap.add_argument('--epochs',type=float,default=14);ap.add_argument('--seed',type=int,default=1)
ap.add_argument('--lr',type=float,default=2e-4);ap.add_argument('--batch',type=int,default=64);ap.add_argument('--steps',type=int,default=0);ap.add_argument('--joins',type=float,default=0.25)
ap.add_argument('--dim',type=int,default=96)
ap.add_argument('--featdrop',type=float,default=0.1)
a=ap.parse_args()
random.seed(a.seed);torch.manual_seed(a.seed);np.random.seed(a.seed)
dev='cuda' if torch.cuda.is_available() else 'cpu'
torch.backends.cuda.matmul.allow_tf32=True
D=pickle.load(gzip.open(a.data)); EX=D['examples']; NF=len(D['features']); ROLES=D['roles']; NR=len(ROLES); NE=len(D['eff'])
B=np.load(a.base) ; vocab=B['emb.word'].shape[0]
without=set(filter(None,a.without.split(',')))
train=[e for e in EX if e['author'] not in without and e['unexpl']<=1]
test=[e for e in EX if e['author'] in without and e['aug']==0]
print(len(train),len(test),dev,flush=True)
CLS,SEP,UNK,PAD=[int(v) for v in B['special']]
H=384;NH=12;NL=6;MAXP=256
class Layer(nn.Module):
    def __init__(s):
        super().__init__()
        s.qkv=nn.Linear(H,3*H);s.o=nn.Linear(H,H);s.n1=nn.LayerNorm(H,eps=1e-12);s.i=nn.Linear(H,4*H);s.d=nn.Linear(4*H,H);s.n2=nn.LayerNorm(H,eps=1e-12)
    def forward(s,x,mask,p):
        b,l,_=x.shape
        q,k,v=s.qkv(x).view(b,l,3,NH,H//NH).permute(2,0,3,1,4)
        y=F.scaled_dot_product_attention(q,k,v,attn_mask=mask,dropout_p=p if s.training else 0).transpose(1,2).reshape(b,l,H)
        x=s.n1(x+F.dropout(s.o(y),p,s.training))
        return s.n2(x+F.dropout(s.d(F.gelu(s.i(x))),p,s.training))
class Net(nn.Module):
    def __init__(s):
        super().__init__()
        s.word=nn.Embedding(vocab,H);s.pos=nn.Embedding(MAXP,H);s.typ=nn.Parameter(torch.zeros(H));s.n0=nn.LayerNorm(H,eps=1e-12)
        s.feat=nn.EmbeddingBag(NF,H,mode='sum',include_last_offset=True);nn.init.normal_(s.feat.weight,std=0.02)
        s.layers=nn.ModuleList(Layer() for _ in range(NL))
        s.role=nn.Linear(H,2*NR+1);s.stand=nn.Linear(H,3);s.bits=nn.Linear(H,4);s.eff=nn.Linear(H,NE)
        s.pa=nn.Linear(H,a.dim);s.pb=nn.Linear(H,a.dim);s.pq=nn.Linear(H,1);s.pk=nn.Linear(H,1);s.dist=nn.Embedding(32,1);nn.init.zeros_(s.dist.weight)
    def encode(s,pc,tok,mask,fi,fo,ntok,p=0.1):
        # pc: b,l pieces; tok: b,l token index (ntok for specials); features bag per (b,token)
        b,l=pc.shape
        f=s.feat(fi,fo).view(b,ntok,H); f=torch.cat([f,f.new_zeros(b,1,H)],1)
        x=s.word(pc)+s.pos.weight[:l]+s.typ+torch.gather(f,1,tok.unsqueeze(-1).expand(-1,-1,H))
        x=F.dropout(s.n0(x),p,s.training)
        m=mask[:,None,None,:]
        for L in s.layers: x=L(x,m,p)
        # mean of the pieces of each token
        out=x.new_zeros(b,ntok+1,H).scatter_add_(1,tok.unsqueeze(-1).expand(-1,-1,H),x)
        n=x.new_zeros(b,ntok+1).scatter_add_(1,tok,torch.ones_like(tok,dtype=x.dtype))
        return (out/n.clamp(min=1).unsqueeze(-1))[:,:ntok]
    def pair(s,t):
        A=s.pa(t);Bm=s.pb(t); n=t.shape[1]
        i=torch.arange(n,device=t.device); d=(i[:,None]-i[None,:]).clamp(-64,64)
        bucket=torch.sign(d)*torch.log2(d.abs().float()+1).round(); bucket=(bucket+8).long()
        return A@Bm.transpose(1,2)/math.sqrt(a.dim)+s.pq(t)+s.pk(t).transpose(1,2)+s.dist(bucket).squeeze(-1)
net=Net()
sd=net.state_dict()
for k in B.files:
    if k in('special',): continue
    t=torch.tensor(B[k].astype(np.float32))
    n={'emb.word':'word.weight','emb.pos':'pos.weight','emb.typ':'typ','emb.n.w':'n0.weight','emb.n.b':'n0.bias'}.get(k,k)
    assert sd[n].shape==t.shape,(n,sd[n].shape,t.shape)
    sd[n].copy_(t)
net.load_state_dict(sd);net.to(dev)
def join(e,f):
    off=len(e['pieces']); na=len(e['anchors']);nm=len(e['marks'])
    return dict(pieces=e['pieces']+f['pieces'],features=e['features']+f['features'],
        marks=e['marks']+[dict(m,f=m['f']+off,t=m['t']+off) for m in f['marks']],anchors=e['anchors']+[x+nm for x in f['anchors']],
        rng=e['rng']+[x+nm for x in f['rng']],pair=e['pair']+[[x+na for x in p] for p in f['pair']])
bykit={}
for e in train: bykit.setdefault((e['author']),[]).append(e)
MAXT=150
def batch(es,tr):
    b=len(es); es=[dict(e) for e in es]
    nt=max(min(len(e['pieces']),MAXT) for e in es)
    rows=[];toks=[]
    for e in es:
        r=[CLS];t=[nt]
        for i,p in enumerate(e['pieces'][:MAXT]):
            if len(r)+len(p)>=MAXP-1: break
            drop=tr and random.random()<0.04
            for q in p: r.append(UNK if drop else q);t.append(i)
        r.append(SEP);t.append(nt);rows.append(r);toks.append(t)
    l=max(map(len,rows))
    pc=torch.tensor([r+[PAD]*(l-len(r)) for r in rows]);tok=torch.tensor([t+[nt]*(l-len(t)) for t in toks]);mask=torch.tensor([[1]*len(r)+[0]*(l-len(r)) for r in rows],dtype=torch.bool)
    fi=[];fo=[0]
    for e in es:
        dropall=tr and random.random()<0.03
        for i in range(nt):
            if i<len(e['features']) and i<MAXT and not dropall and not(tr and random.random()<0.03):
                fi+= [f for f in e['features'][i] if not(tr and random.random()<a.featdrop)]
            fo.append(len(fi))
    role=np.full((b,nt),0);stand=np.full((b,nt),-1);bits=np.full((b,nt,4),-1.0);eff=np.full((b,nt),-1);pair=np.full((b,nt,nt),-1.0)
    for q,e in enumerate(es):
        role[q,len(e['pieces']):]=-1
        M=e['marks']
        for j,m in enumerate(M):
            if m['t']>MAXT or m['t']>nt: continue
            if m['role']<0: role[q,m['f']:m['t']]=-1
            else:
                role[q,m['f']]=1+2*m['role']; role[q,m['f']+1:m['t']]=2+2*m['role']
            stand[q,m['f']:m['t']]=m['st']
            bits[q,m['f']]=[float(j in e['anchors']),float(j in e['rng']),m['doubt'],m['roll']]
            if m['eff']>=0: eff[q,m['f']]=m['eff']
            if m['role']>=0 and ROLES[m['role']] in 'xv' and j not in e['anchors']: continue
            for j2,m2 in enumerate(M):
                if m2['f']>=nt or m2['role']<0: continue
                if j2 in e['anchors']: own={e['anchors'].index(j2)}
                elif len(e['pair'][j2])==1 and ROLES[m2['role']] not in 'xv' : own=set(e['pair'][j2])
                else: continue
                mine=set(e['pair'][j])|({e['anchors'].index(j)} if j in e['anchors'] else set())
                pair[q,m['f'],m2['f']]=float(bool(own&mine))
    tt=lambda x,d=torch.long: torch.tensor(x,dtype=d).to(dev)
    return pc.to(dev),tok.to(dev),mask.to(dev),tt(fi),tt(fo),nt,tt(role),tt(stand),tt(bits,torch.float),tt(eff),tt(pair,torch.float)
def losses(bt):
    pc,tok,mask,fi,fo,nt,role,stand,bits,eff,pair=bt
    t=net.encode(pc,tok,mask,fi,fo,nt)
    L=F.cross_entropy(net.role(t).float().transpose(1,2),role,ignore_index=-1)
    def ce(lg,y):
        m=y>=0
        return F.cross_entropy(lg[m].float(),y[m]) if m.any() else 0.
    def bce(lg,y,pos=None):
        m=y>=0
        return F.binary_cross_entropy_with_logits(lg[m].float(),y[m]) if m.any() else 0.
    L=L+0.5*ce(net.stand(t),stand)+0.6*bce(net.bits(t),bits)+0.2*ce(net.eff(t),eff)+0.7*bce(net.pair(t),pair)
    return L
enc=[p for n,p in net.named_parameters() if n.startswith(('word','pos','typ','n0','layers'))]
oth=[p for n,p in net.named_parameters() if not n.startswith(('word','pos','typ','n0','layers'))]
opt=torch.optim.AdamW([dict(params=enc,lr=a.lr),dict(params=oth,lr=a.lr*5)],weight_decay=0.01,betas=(0.9,0.98))
steps=a.steps or int(a.epochs*len(train)/a.batch)
sch=torch.optim.lr_scheduler.LambdaLR(opt,lambda s:min(1,(s+1)/200)*(0.02+0.98*0.5*(1+math.cos(math.pi*min(1,s/steps)))))
ema={k:v.clone().float() for k,v in net.state_dict().items()}
authors=sorted(bykit)
wts=[math.sqrt(len(bykit[x])) for x in authors]
t0=time.time()
net.train()
import threading,queue
Q=queue.Queue(64)
import multiprocessing as mp
def draw():
    es=[]
    for e in random.choices(train,k=a.batch):
        if random.random()<a.joins:
            f=random.choice(bykit[e['author']])
            if len(e['pieces'])+len(f['pieces'])<MAXT: e=join(e,f)
            if random.random()<0.3:
                f=random.choice(bykit[authors[0]] if False else bykit[e['author']]) if 'author' in e else random.choice(train)
                if len(e['pieces'])+len(f['pieces'])<MAXT: e=join(e,f)
        es.append(e)
    es.sort(key=lambda e:len(e['pieces']))
    return es
for s in range(steps):
    bt=batch(draw(),True)
    with torch.autocast(dev,dtype=torch.bfloat16,enabled=dev=='cuda'):
        L=losses(bt)
    opt.zero_grad(set_to_none=True);L.backward();nn.utils.clip_grad_norm_(net.parameters(),1.0);opt.step();sch.step()
    if s>=steps//2 and s%5==0:
        d=min(0.99,(s-steps//2)/(s-steps//2+50))
        for k,v in net.state_dict().items(): ema[k].mul_(d).add_(v.float(),alpha=1-d)
    if s%200==0: print(s,steps,round(float(L),4),round(time.time()-t0),flush=True)
net.load_state_dict(ema)
net.eval()
def evaluate(es):
    ok=collections_count=0
    tot=dict(notes=0,roles=0,core=0,struct=0,all=0,tok=0,tokok=0)
    per={}
    with torch.no_grad():
        for i in range(0,len(es),64):
            ch=es[i:i+64]
            pc,tok,mask,fi,fo,nt,role,stand,bits,eff,pair=batch(ch,False)
            t=net.encode(pc,tok,mask,fi,fo,nt);r=net.role(t).argmax(-1).cpu().numpy();st=net.stand(t).argmax(-1).cpu().numpy();bi=(net.bits(t)>0).cpu().numpy();pp=(net.pair(t)>0).cpu().numpy();ef=net.eff(t).argmax(-1).cpu().numpy()
            for q,e in enumerate(ch):
                tot['notes']+=1;good=True;core=True;struct=True
                for j,m in enumerate(e['marks']):
                    if m['t']>nt: continue
                    if m['role']>=0:
                        c=ROLES[m['role']]
                        y=r[q,m['f']]; got=(y-1)//2 if y>0 else -1
                        g=got==m['role'] or (c in 'xv' and (got<0 or ROLES[got] in 'xv'))
                        if m['st'] and c not in 'xv': g=g or got<0
                        sg=st[q,m['f']]==m['st'] or c in 'xv' or (bool(st[q,m['f']])==bool(m['st']))
                        p=per.setdefault(c if not m['st'] else 'md',[0,0]);p[0]+=1;p[1]+=g and sg
                        good&=g and sg
                        if c in 'san' or m['st']: core&=bool(g and sg)
                        if c in 'safln' and not m['st']:
                            struct&=bool(bi[q,m['f'],0]==(j in e['anchors']))
                            for k,an in enumerate(e['anchors']): struct&=bool(pp[q,m['f'],e['marks'][an]['f']]==(k in e['pair'][j]))
                tot['roles']+=good;tot['core']+=core;tot['struct']+=struct;tot['all']+=good and struct
    n=max(1,tot['notes'])
    return {k:round(v/n,4) for k,v in tot.items() if k!='notes'},{k:(v[0],round(v[1]/v[0],3)) for k,v in sorted(per.items())}
for au in sorted(without):
    es=[e for e in test if e['author']==au]
    if es: print(au,len(es),*evaluate(es))
if test: print('ALL',len(test),*evaluate(test))

def write(path):
    """the file of weights, as src/language/tag/weights.rs reads it"""
    import struct
    tensors=[];data=b''
    big=('word','pos','feat','layers')
    for k,v in net.state_dict().items():
        if k=='word.weight': v=v
        w=v.float().cpu().numpy(); m=w if w.ndim==2 else w.reshape(1,-1)
        one=k.startswith(big) and w.ndim==2
        at=len(data)
        if one:
            sc=np.abs(m).max(1)/127; sc[sc==0]=1; q=np.clip(np.rint(m/sc[:,None]),-127,127).astype(np.int8)
            data+=b''.join(struct.pack('<f',float(x))+r.tobytes() for x,r in zip(sc,q))
        else: data+=m.astype('<f4').tobytes()
        tensors.append(dict(name=k,rows=m.shape[0],columns=m.shape[1],at=at,bytes=1 if one else 4))
    h=json.dumps(dict(features=D['features'],tensors=tensors)).encode()
    open(path,'wb').write(b'SPOOLRD1'+struct.pack('<I',len(h))+h+data)
write(a.out)
print('saved',round(time.time()-t0),os.path.getsize(a.out))
