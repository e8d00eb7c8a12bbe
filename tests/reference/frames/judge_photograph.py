#!/usr/bin/python3
"""Outside judge of detection on a photograph: sources that SEP 1.2.1 (Debian python3-sep) finds in its luminance (ITU-R
BT.709) above so many times the noise, as lines x,y.

  judge_photograph.py PICTURE SIGMA
"""
import sys

import numpy
import sep
from PIL import Image

sep.set_extract_pixstack(5_000_000)
rgb = numpy.asarray(Image.open(sys.argv[1]).convert("RGB")).astype(numpy.float32)
data = numpy.ascontiguousarray(rgb @ numpy.array([0.2126, 0.7152, 0.0722], dtype=numpy.float32))
sky = sep.Background(data)
for source in sep.extract(data - sky.back(), float(sys.argv[2]), err=sky.rms()):
    print(f"{source['x']:.2f},{source['y']:.2f}")
