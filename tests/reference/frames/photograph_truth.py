#!/usr/bin/python3
"""Where the catalogue's stars lie on two of the photographs (../photographs/fixed-24mm): photograph-2-stars.csv and
photograph-5-stars.csv, x, y in pixels and magnitude. Independent of our own code: sources by SEP 1.2.1, fit by SciPy.

Stars: Hipparcos, from the npm package d3-celestial 0.7.35 (data/stars.14.json, BSD-3-Clause). The centre, focal length
and distortion of ../photographs/README.md are the start; roll and a polynomial of degree 5 for what the radial model
leaves (refraction near the horizon) are fitted to stars that SEP finds. Residuals 0.28 px a star.

  photograph_truth.py STARS.14.JSON
"""
import json,numpy as np,sep,sys,os
from PIL import Image
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
P=os.path.join(os.path.dirname(os.path.abspath(__file__)),'../photographs/fixed-24mm/')
T={1:(257.354,-44.958,1357.6,-0.110,0.117),2:(258.341,-44.961,1361.2,-0.102,0.104),3:(260.068,-44.965,1361.9,-0.104,0.106),4:(261.367,-44.964,1361.6,-0.102,0.101),5:(262.631,-45.002,1360.6,-0.115,0.079),6:(265.790,-44.977,1363.1,-0.122,0.136)}
cat=json.load(open(sys.argv[1]))['features']
C=np.array([(f['geometry']['coordinates'][0]%360,f['geometry']['coordinates'][1],f['properties']['mag'],f['id']) for f in cat])
def project(p,ra,dec):
    r0,d0=np.radians(p[0]),np.radians(p[1]); f,k1,k2,roll=p[2:6]
    ra=np.radians(ra)-r0; dec=np.radians(dec)
    z=np.sin(d0)*np.sin(dec)+np.cos(d0)*np.cos(dec)*np.cos(ra)
    xi=np.cos(dec)*np.sin(ra)/z; eta=(np.cos(d0)*np.sin(dec)-np.sin(d0)*np.cos(dec)*np.cos(ra))/z
    x,y=-xi,-eta
    r2=x*x+y*y; g=f*(1+k1*r2+k2*r2*r2)
    c,s=np.cos(roll),np.sin(roll)
    X=999.5+g*(c*x-s*y); Y=666+g*(s*x+c*y)
    return np.where(z>0.3,X,-1e6),np.where(z>0.3,Y,-1e6)
sep.set_extract_pixstack(3000000)
roll=None
for n in range(1,7):
    a=np.asarray(Image.open(P+f'frame-{n}.jpg').convert('RGB')).astype(np.float32)
    L=np.ascontiguousarray(0.2126*a[...,0]+0.7152*a[...,1]+0.0722*a[...,2])
    b=sep.Background(L); d=L-b.back(); o=sep.extract(d,6,err=b.rms()); o=o[o['y']<1150]
    o=o[np.argsort(-o['flux'])]
    tree=cKDTree(np.c_[o['x'],o['y']])
    br=C[C[:,2]<6.0]
    best=(0,0)
    for deg in (np.arange(0,360,0.5) if roll is None else np.degrees(roll)+np.arange(-8,8,0.25)):
        x,y=project(T[n]+(np.radians(deg),),br[:,0],br[:,1]); 
        ok=(x>0)&(x<2000)&(y>0)&(y<1150)
        dd,_=tree.query(np.c_[x[ok],y[ok]])
        c=(dd<5).sum()
        if c>best[0]: best=(c,deg,ok.sum())
    p=np.array(T[n]+(np.radians(best[1]),)); 
    for rad,mag in ((8,5.5),(4,6.5),(2.5,7),(2,7.5)):
        sel=C[C[:,2]<mag]
        x,y=project(p,sel[:,0],sel[:,1]); ok=(x>0)&(x<2000)&(y>0)&(y<1150); s=sel[ok]
        dd,ii=tree.query(np.c_[x[ok],y[ok]]); m=dd<rad
        s=s[m]; q=ii[m]
        def res(p):
            X,Y=project(p,s[:,0],s[:,1]); return np.r_[X-o['x'][q],Y-o['y'][q]]
        p=least_squares(res,p,x_scale=[.01,.01,1,.01,.01,.001],loss='soft_l1').x
    roll=p[5]
    r=res(p)
    print(n,best,'fit',np.round(p[:5],4),'roll',np.degrees(p[5]),'n',len(s),'rms',np.sqrt(np.mean(r**2)))
    # what the radial model leaves (refraction, centre of distortion): a cubic polynomial per axis
    def basis(x,y):
        u,v=(x-999.5)/1000,(y-666)/1000
        return np.stack([u**i*v**j for i in range(6) for j in range(6-i)],1)
    cx=cy=None; br=C[C[:,2]<6.8]; X0,Y0=project(p,br[:,0],br[:,1]); okk=(X0>-30)&(X0<2030)&(Y0>-30)&(Y0<1150); br=br[okk]; X0=X0[okk]; Y0=Y0[okk]
    dx=np.zeros(len(X0)); dy=dx.copy(); first=True
    for k in range(40):
        rad=max(2.0,4-0.1*k); mg=min(6.8,5+0.1*k)
        dd,ii=tree.query(np.c_[X0+dx,Y0+dy]); m=(dd<rad)&(br[:,2]<mg)
        B=basis(X0,Y0); lam=np.sqrt(1e-2)*np.eye(B.shape[1])
        cx=np.linalg.lstsq(np.r_[B[m],lam],np.r_[o['x'][ii[m]]-X0[m],np.zeros(B.shape[1])],rcond=None)[0]; cy=np.linalg.lstsq(np.r_[B[m],lam],np.r_[o['y'][ii[m]]-Y0[m],np.zeros(B.shape[1])],rcond=None)[0]
        dx,dy=B@cx,B@cy
    print('   poly: matched',m.sum(),'rms',np.sqrt(np.mean(dd[m]**2)/2))
    x,y=project(p,C[:,0],C[:,1]); far=(x<-200)|(x>2200)|(y<-200)|(y>1500); B=basis(np.where(far,0,x),np.where(far,0,y)); x=np.where(far,-1e6,x+B@cx); y=np.where(far,-1e6,y+B@cy); ok=(x>5)&(x<1995)&(y>5)&(y<1328)
    if n in (2, 5): np.savetxt(os.path.join(os.path.dirname(os.path.abspath(__file__)),f'photograph-{n}-stars.csv'),np.c_[x[ok],y[ok],C[ok,2]],fmt='%.1f,%.1f,%.2f',header='x,y,mag',comments='')
