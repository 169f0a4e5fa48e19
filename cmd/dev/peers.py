"""The same tasks by general-purpose libraries, on the same data, for dev bench.

usage: peers.py FOLDER TASK    one line of JSON: library, seconds (median), memory_mb (what the call adds), note
       peers.py FOLDER prepare makes the inputs that the benchmarks read

FOLDER holds what the benchmarks have left there (NAME.npy). The number of
threads is taken from OMP_NUM_THREADS. Needs Debian's python3-numpy,
python3-scipy, python3-skimage, python3-opencv, python3-pydicom, python3-gdcm,
dcmtk and libgdcm-tools; a task whose library is missing fails with ImportError.
"""
import json, os, statistics, subprocess, sys, time

FOLDER, TASK = sys.argv[1], sys.argv[2]
BUDGET = 6.0  # seconds for a task, at least three runs unless one takes longer


def path(name):
    return os.path.join(FOLDER, name)


def load(name):
    import numpy
    return numpy.load(path(name + ".npy"))


def memory(field):
    for line in open("/proc/self/status"):
        if line.startswith(field):
            return int(line.split()[1]) / 1024


def timed(library, call, note=lambda result: ""):
    open("/proc/self/clear_refs", "w").write("5")  # forget the peak of making the input
    before, start, times = memory("VmRSS"), time.perf_counter(), []
    while not times or (len(times) < 9 and time.perf_counter() - start + times[-1] < BUDGET):
        t = time.perf_counter()
        result = call()
        times.append(time.perf_counter() - t)
    if len(times) > 2:
        times = times[1:]  # the first call warms up
    print(json.dumps(dict(library=library, seconds=statistics.median(times), memory_mb=memory("VmHWM") - before, note=note(result))))


def threads():
    return int(os.environ.get("OMP_NUM_THREADS", "1"))


# ---- paths and ridges

def least_cost(name, start, end):
    from skimage import __version__
    from skimage.graph import route_through_array
    cost = load(name)
    timed("scikit-image " + __version__, lambda: route_through_array(cost, start, end, geometric=True), lambda r: "%.0f millionths-of-cost" % (r[1] * 1e6))


def path2d(): least_cost("cost2d", (10, 500), (1490, 500))


def path3d(): least_cost("cost3d", (5, 150, 195), (295, 180, 120))


def ridges(name):
    from skimage import __version__
    from skimage.filters import frangi
    grey = load(name)
    timed("scikit-image " + __version__, lambda: frangi(grey, sigmas=range(1, 6), black_ridges=True))


def ridges2d(): ridges("ridges2d")


def ridges3d(): ridges("ridges3d")


# ---- lesions

def dice(a, b):
    return 2 * (a & b).sum() / (a.sum() + b.sum())


def lesion2d():
    import cv2, numpy
    grey, truth = load("lesion2d").astype(numpy.float32), load("lesion2d_truth") > 0
    smooth = cv2.GaussianBlur(grey, (0, 0), 2)
    y, x = (int(v) for v in numpy.argwhere(truth).mean(0))
    rows, columns = numpy.ogrid[:grey.shape[0], :grey.shape[1]]
    far = (columns - x) ** 2 + (rows - y) ** 2
    seeds = numpy.zeros(grey.shape, numpy.int32)
    seeds[far < 25] = 1
    seeds[far > truth.sum()] = 2  # 1.8 radii of a disc of this area
    eight = cv2.cvtColor(cv2.normalize(smooth, None, 0, 255, cv2.NORM_MINMAX, cv2.CV_8U), cv2.COLOR_GRAY2BGR)
    timed("OpenCV " + cv2.__version__ + " watershed", lambda: cv2.watershed(eight, seeds.copy()), lambda r: "Dice %.3f" % dice(r == 1, truth))


def lesion3d():
    import numpy
    from scipy import ndimage
    from skimage import __version__
    from skimage.segmentation import watershed
    grey, truth = load("lesion3d").astype(numpy.float32), load("lesion3d_truth") > 0
    seeds = numpy.zeros(grey.shape, numpy.int32)
    z, y, x = (int(v) for v in numpy.argwhere(truth).mean(0))
    seeds[z - 3:z + 4, y - 3:y + 4, x - 3:x + 4] = 1
    for axis in range(3):
        numpy.moveaxis(seeds, axis, 0)[[0, -1]] = 2
    timed("scikit-image " + __version__ + " watershed", lambda: watershed(ndimage.gaussian_gradient_magnitude(grey, 1.5), seeds), lambda r: "Dice %.4f" % dice(r == 1, truth))


# ---- registration

def ecc(before, after, mode, levels=5):
    import cv2, numpy
    a, b = [before], [after]
    for _ in range(levels - 1):
        a.append(cv2.pyrDown(a[-1]))
        b.append(cv2.pyrDown(b[-1]))
    warp = numpy.eye(3, dtype=numpy.float32)
    for level in range(levels - 1, -1, -1):
        if level < levels - 1:
            up = numpy.diag([2.0, 2.0, 1.0])
            warp = (up @ warp @ numpy.linalg.inv(up)).astype(numpy.float32)
        w = warp if mode == cv2.MOTION_HOMOGRAPHY else warp[:2].copy()
        _, w = cv2.findTransformECC(a[level], b[level], w, mode, (3, 60, 1e-5), None, 5)
        warp = w if mode == cv2.MOTION_HOMOGRAPHY else numpy.vstack([w, [0, 0, 1]]).astype(numpy.float32)
    return warp  # before -> after


def off(warp, truth, shape):
    """Root mean square distance in px of before, over the middle 80 % of it."""
    import numpy
    x, y = numpy.meshgrid(numpy.linspace(.1, .9, 9) * shape[1], numpy.linspace(.1, .9, 13) * shape[0])
    p = numpy.c_[x.ravel(), y.ravel(), numpy.ones(x.size)]
    q = p @ (truth @ numpy.asarray(warp, float)).T
    return float(numpy.sqrt((((q[:, :2] / q[:, 2:]) - p[:, :2]) ** 2).sum(1).mean()))


def register(name, projective):
    import cv2, numpy
    before, after = (load(name + s).astype(numpy.float32) / 65535 for s in ("_before", "_after"))
    truth = numpy.linalg.inv(load(name + "_truth"))  # left as before -> after
    mode = cv2.MOTION_HOMOGRAPHY if projective else cv2.MOTION_AFFINE
    timed("OpenCV " + cv2.__version__ + " ECC, 5 levels", lambda: ecc(before, after, mode), lambda w: "%.3f px rms" % off(w, truth, before.shape))


def affine(): register("affine", False)


def projective(): register("projective", True)


def changed(): register("changed", True)


# ---- enhancement

def contrast():
    import cv2
    grey, tool = load("grey2d"), cv2.createCLAHE(2.0, (8, 8))
    timed("OpenCV " + cv2.__version__ + " CLAHE", lambda: tool.apply(grey))


def sharpen():
    import cv2
    grey = load("grey2d")
    timed("OpenCV " + cv2.__version__ + " unsharp", lambda: cv2.addWeighted(grey, 2, cv2.GaussianBlur(grey, (0, 0), 2), -1, 0))


# ---- DICOM

FORMS = {"ljpeg": ("dcmcjpeg", "+e1"), "jls": ("dcmcjpls",), "rle": ("dcmcrle",), "j2k": ("gdcmconv", "--j2k")}


def prepare():
    """A radiograph of 2000 x 1500 samples of 16 bits in each compressed form."""
    import cv2, numpy
    from pydicom.dataset import FileDataset, FileMetaDataset
    from pydicom.uid import ExplicitVRLittleEndian, generate_uid
    random = numpy.random.default_rng(1)
    grey = 20000 + sum(random.uniform(500, 4000) * cv2.GaussianBlur(random.normal(0, s, (2000, 1500)), (0, 0), s) for s in (3, 12, 50))
    grey = numpy.clip(grey + random.normal(0, 60, grey.shape), 0, 65535).astype(numpy.uint16)
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID, meta.MediaStorageSOPInstanceUID = "1.2.840.10008.5.1.4.1.1.1.3", generate_uid()
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    d = FileDataset(path("raw.dcm"), {}, file_meta=meta, preamble=b"\0" * 128)
    d.is_little_endian, d.is_implicit_VR = True, False
    d.SOPClassUID, d.SOPInstanceUID, d.Modality = meta.MediaStorageSOPClassUID, meta.MediaStorageSOPInstanceUID, "IO"
    d.StudyInstanceUID, d.SeriesInstanceUID, d.InstanceNumber = generate_uid(), generate_uid(), 1
    d.Rows, d.Columns, d.SamplesPerPixel, d.PhotometricInterpretation = 2000, 1500, 1, "MONOCHROME2"
    d.BitsAllocated = d.BitsStored = 16
    d.HighBit, d.PixelRepresentation, d.PixelData = 15, 0, grey.tobytes()
    d.save_as(path("raw.dcm"), write_like_original=False)
    for form, command in FORMS.items():
        subprocess.run([*command, path("raw.dcm"), path(form + ".dcm")], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def decode(form):
    import gdcm

    def read():
        r = gdcm.ImageReader()
        r.SetFileName(path(form + ".dcm"))
        assert r.Read()
        return r.GetImage().GetBuffer()
    timed("GDCM " + gdcm.Version.GetVersion(), read)


def ljpeg(): decode("ljpeg")


def jls(): decode("jls")


def rle(): decode("rle")


def j2k(): decode("j2k")


if __name__ == "__main__":
    try:
        import cv2
        cv2.setNumThreads(threads())
    except ImportError:
        pass
    globals()[TASK]()
