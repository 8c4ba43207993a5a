"""again.py SLUG NAME [SCALE]: take one picture again, finer."""
import sys, zlib
from pathlib import Path
import numpy as np
from expose import Print, develop, expose
from make import PRINTED, RENDERED, build_stuff, sit
from negatives import Tags, write_jpeg
from room import look
from tags import TAGS
slug, name = sys.argv[1:3]; scale = float(sys.argv[3]) if len(sys.argv) > 3 else 1.7
s = sit(slug); shot = s.shots[name]
from PIL import Image
im = Image.open(f'../pieces/{slug}/{name}'); way = 'portrait' if sorted(im.size) == [1600, 2000] else 'landscape'
st = look(shot.eye, shot.target, shot.tall, paper=s.paper, aim=(0, 3.3 - max(0.0, s.lower - 0.5), 0), **s.room)
how = Print(focus=float(np.linalg.norm(np.subtract(shot.eye, shot.target))) - shot.focus, aperture=shot.aperture)
w, h = (round(v * scale) for v in RENDERED[way])
pic = expose(s.bench.scene(), st, build_stuff(s), (w, h), how, rays=2)
out = Path('new') / slug / name; out.parent.mkdir(parents=True, exist_ok=True)
print(slug, name, write_jpeg(develop(pic, PRINTED[way], how, zlib.crc32(f"{slug}/{name}".encode())), out, TAGS.get(f"{slug}/{name}", Tags())))
