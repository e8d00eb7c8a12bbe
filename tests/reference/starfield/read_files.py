#!/usr/bin/python3
"""Reads one frame with readers that are not ours and prints what they see as JSON.
FITS by astropy (with its verifier), TIFF, JPEG and PNG by Pillow.  Run: read_files.py FILE"""
import json
import sys
import warnings
import numpy as np

path = sys.argv[1]
seen = {}
if path.endswith(".fits"):
    from astropy.io import fits
    with warnings.catch_warnings(record=True) as complaints:
        warnings.simplefilter("always")
        with fits.open(path, do_not_scale_image_data=False) as f:
            f.verify("warn")
            bitpix = f[0].header["BITPIX"]
            data = f[0].data
            header = {k: v for k, v in f[0].header.items() if k not in ("COMMENT", "")}
    header["BITPIX_ON_DISK"] = bitpix
    seen["header"] = header
    seen["complaints"] = [str(c.message) for c in complaints]
else:
    from PIL import Image
    with Image.open(path) as im:
        exif = im.getexif()
        tags = dict(exif)
        tags.update(exif.get_ifd(0x8769))
        data = np.asarray(im)
        seen["mode"] = im.mode
    seen["exif"] = {str(k): (v if isinstance(v, (str, int)) else float(v)) for k, v in tags.items()
                    if not isinstance(v, (bytes, tuple, dict))}
data = data.astype(np.int64)
y, x = np.indices(data.shape)
seen["sum"] = int(data.sum())
seen["weighted"] = int((data * (x + 3 * y)).sum())
print(json.dumps(seen))
