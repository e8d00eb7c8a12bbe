#!/usr/bin/python3
"""Outside judge of FITS files: reads them with astropy.io.fits (Debian python3-astropy), verifies them against the
standard and prints per file: name, dtype, shape, sum, first and last pixel. Exit code 1 where the standard is broken.

  judge_fits.py FILE.fits...
"""
import sys
import warnings

import numpy
from astropy.io import fits

warnings.simplefilter("error")
for path in sys.argv[1:]:
    with fits.open(path) as parts:
        parts.verify("exception")
        data = parts[0].data
        print(path.split("/")[-1], data.dtype.name, data.shape[1], data.shape[0],
              repr(float(numpy.sum(data, dtype=numpy.float64))), repr(float(data[0, 0])), repr(float(data[-1, -1])),
              parts[0].header.get("DATE-OBS", "-"))
