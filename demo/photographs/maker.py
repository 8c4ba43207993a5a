"""The maker from behind, at her bench with the Clock-Winder: python maker.py OUT.jpg 1.5, beside the scripts of 6c23aba.

expose.py took 240 samples for the blur (57 in that commit); the arms' wire was softened by hand.
"""
import sys, math
import numpy as np
from PIL import Image
import bench_room
from cast import CAST
from expose import Print, develop, expose
from figure import bare_skin, clothes, model_hand, brass, timber
from hair import Wig, hair_material, CROWN, SPAN
from make import build_stuff, sit
from negatives import Tags, write_jpeg
from room import look
from sculpt import Frame, turn
import props
from pattern import *

HEADC = np.array([-2.75, 4.1, 5.2])
SIZE = 1.36

def maker(s):
    b = s.bench
    skin = bare_skin(b, "#d9ae94")
    axes = turn(180 - 24, 13, -5)          # she looks at the figure
    head = Frame(HEADC, axes, SIZE)
    b.frame = head
    b.part(); b.ball(CROWN, SPAN * 0.985, skin)
    b.ball((0, -0.35, 0.18), (0.62, 0.62, 0.66), skin, k=0.25); b.cone((0, -0.30, -0.10), (0.0, -1.25, 0.16), 0.46, 0.47, skin, k=0.16)
    for side in (-1, 1):
        b.part(); b.ball((side * 0.88, -0.08, -0.02), (0.055, 0.165, 0.11), skin, axes=turn(side * 28, 0, side * -8))
        b.ring((side * 0.895, -0.07, -0.02), 0.105, 0.022, skin, k=0.03, axes=turn(side * 28, 0, 90 - side * 8))
    hair = hair_material(b, "#5d3a26", sheen=0.7, rate=58)
    wig = Wig(b, hair, 77)
    wig.cap(back=0.06, up=0.06, grow=0.0)
    meet = (0.02, 0.52, -1.06)
    wig.swept(meet, many=230, low=-42, spread=0.12, size=0.040, bulge=1.05)
    wig.knot((0.03, 0.62, -1.22), 0.40, turns=13, tall=0.9)
    wig.stray(40, length=0.26, thin=0.0014)
    for side in (-1, 1):      # a lock over the top of each ear
        for n in range(9):
            p = [CROWN + SPAN * np.array([side * math.sin(math.radians(a)) * math.cos(math.radians(r)), math.sin(math.radians(r)), math.cos(math.radians(a)) * math.cos(math.radians(r))]) * l for a, r, l in ((66 + n, 4 - 2 * n, 1.01), (88 + n, -4 - 2.2 * n, 1.10), (112 + n, -2 - 2 * n, 1.08), (150, 8 - n, 1.05))]
            wig.lock(p, [0.012, 0.03, 0.034, 0.03])
    # wisps at the nape
    for n in range(16):
        x = -0.5 + 1.0 * n / 15
        a = CROWN + SPAN * np.array([math.sin(1.1*x)*0.84, -0.52, -math.cos(1.1*x)*0.84]) * 1.0
        t = a + wig.chance.normal(0, 0.045, 3) + (0, -wig.chance.uniform(0.08, 0.26), 0.06)
        wig.lock([a, (a + t) / 2 + (0, 0, -0.05), t], [0.008, 0.006, 0.0015])
    # a paintbrush through the knot
    b.part(); b.cone((-0.62, 0.95, -1.30), (0.52, 0.36, -1.22), 0.030, 0.022, timber(b, "#b98f5e", "#8a6238"))
    b.part(); b.cone((-0.80, 1.045, -1.315), (-0.60, 0.94, -1.298), 0.026, 0.034, brass(b, "#b9bbbd", rough=0.25))
    b.part(); b.tube([(-0.79, 1.04, -1.314), (-0.90, 1.10, -1.32), (-0.99, 1.145, -1.325)], [0.028, 0.034, 0.004], hair_material(b, "#6b4a30"))
    # neck and body
    b.frame = Frame()
    base = HEADC + (-0.12, -1.75, 0.42)
    knit = clothes(b, "#4c5f63", "#34474b", kind=RIB if "RIB" in globals() else LINEN, rate=21, bump=0.45)
    shirt = clothes(b, "#dcd6c8", rate=26)
    b.part()
    sh = base + (0, -0.62, 0.0)
    b.cone(sh + (-1.95, -0.55, 0.1), sh + (1.75, -0.40, -0.25), 0.74, 0.74, knit, k=0.5)
    b.ball(sh + (0, -1.4, 0.05), (2.05, 2.2, 1.25), knit, k=0.6); b.wrinkle(0.035, 1.9, 0.4)
    b.cone(base + (0, 0.12, 0), sh + (0, -0.5, 0), 0.78, 1.25, knit, k=0.45)
    # collar
    neck = head.point((0, -0.92, 0.05))
    b.part(); b.ring(neck + (0, -0.16, 0.0), 0.74, 0.17, knit, flat=0.95, axes=turn(0, 10, 0)); b.wrinkle(0.012, 9, 0)
    b.cone(neck + (0, -0.2, 0), neck + (0, -0.7, 0.05), 0.78, 1.0, knit, k=0.2)
    # right arm reaches round, left rests
    for pts in (([1.75, -0.40, -0.25], [2.55, -2.35, -1.6], [2.62, -1.55, -4.05]), ([-1.95, -0.55, 0.1], [-2.6, -2.7, -1.2], [-1.2, -2.9, -3.4])):
        a, e, w = (sh + np.array(q) for q in pts)
        b.part(); b.cone(a, e, 0.72, 0.56, knit, k=0.3); b.wrinkle(0.04, 2.3, 1.0)
        b.cone(e, w, 0.55, 0.36, knit, k=0.35); b.wrinkle(0.035, 2.9, 2.0)
        b.part(); b.ring(w, 0.34, 0.10, knit, axes=__import__("sculpt").along(w - e)); 
    w = sh + np.array([2.62, -1.55, -4.05])
    d = np.array([0.05, 0.28, -1.0]); 
    b.part(); b.cone(w - (0, 0.05, -0.3), w + d * 0.3, 0.30, 0.27, skin)
    grip = model_hand(b, 1, w + d * 0.25, d, np.array([-0.9, -0.35, -0.1]), 0.95, skin, 4.4)
    g = grip["grip"]
    tip = np.array([0.42, 2.72, 0.75])
    way = (tip - g) / np.linalg.norm(tip - g)
    b.part(); b.cone(g - way * 1.5, tip - way * 0.42, 0.05, 0.05, timber(b, "#3d2618"))
    b.part(); b.cone(tip - way * 0.45, tip - way * 0.2, 0.055, 0.045, brass(b, "#b9bbbd", rough=0.25))
    b.part(); b.tube([tip - way * 0.22, tip - way * 0.08, tip], [0.045, 0.05, 0.006], hair_material(b, "#6b4a30"))

if __name__ == "__main__":
    out, scale = sys.argv[1], float(sys.argv[2])
    s = sit("clock-winder")
    maker(s)
    scene, stuff = s.bench.scene(), build_stuff(s)
    eye, target = np.array([0.6, 5.9, 24.0]), np.array([-0.95, 3.05, 2.6])
    st = look(eye, target, 7.0, paper=s.paper, wall=-7.0, aim=(-0.8, 3.0, 2.0), snoot=0.28)
    st = st._replace(key=np.array([-9.0, 8.2, -1.5]), key_size=1.6, key_colour=st.key_colour * 2.6, rim=np.array([7.5, 6.0, 9.5]), rim_colour=st.rim_colour * 0.9)
    how = Print(focus=float(np.linalg.norm(eye - HEADC)) - 0.8, aperture=0.032, vignette=0.4, exposure=1.12)
    w, h = int(1020 * scale), int(680 * scale)
    pic = expose(scene, st, stuff, (w, h), how, rays=2)
    if out.endswith(".png"):
        Image.fromarray((develop(pic, (w, h), how, 5) * 255).astype(np.uint8)).save(out)
    else:
        print(write_jpeg(develop(pic, (2100, 1400), how, 5), __import__("pathlib").Path(out), Tags()))
