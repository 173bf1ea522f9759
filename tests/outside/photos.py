"""Pictures by Pillow, which nobody here wrote: `make FOLDER` writes them full of camera data, `look FOLDER` tells what is in them."""
import hashlib, json, os, sys
from PIL import Image, ImageCms, ImageDraw
from PIL.PngImagePlugin import PngInfo

SECRET = "SECRET-camera-and-place"
folder = sys.argv[2]

def picture(mode, shade=0):
    image = Image.new(mode, (48, 32), (20 + shade, 90, 160) + ((200,) if mode == "RGBA" else ()))
    ImageDraw.Draw(image).rectangle((4, 4, 20, 12), fill=(240, 30, 30) + ((90,) if mode == "RGBA" else ()))
    return image

def exif(orientation):
    data = Image.Exif()
    data[0x010F] = SECRET  # maker of the camera
    data[0x0112] = orientation
    data[0x8825] = {1: "N", 2: (51.0, 30.0, 12.5), 29: SECRET}  # place
    return data

def make():
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    xmp = f"<x:xmpmeta>{SECRET}</x:xmpmeta>".encode()
    at = lambda name: os.path.join(folder, name)
    def jpeg(name, orientation, mode="RGB", behind=b"", **more):
        image = picture("RGB").convert(mode)
        image.save(at(name), exif=exif(orientation), icc_profile=icc if mode == "RGB" else None, comment=SECRET, **more)
        whole = open(at(name), "rb").read()
        packet = b"http://ns.adobe.com/xap/1.0/\0" + xmp
        app1 = b"\xff\xe1" + (len(packet) + 2).to_bytes(2, "big") + packet
        app13 = b"\xff\xed" + (len(SECRET) + 2).to_bytes(2, "big") + SECRET.encode()
        open(at(name), "wb").write(whole[:2] + app1 + app13 + whole[2:] + behind)
    for orientation in range(1, 9):
        jpeg(f"turned-{orientation}.jpg", orientation)
    jpeg("progressive.jpg", 6, progressive=True)
    jpeg("grey.jpg", 3, mode="L")
    jpeg("four-inks.jpg", 1, mode="CMYK")
    jpeg("another-behind.jpg", 8, behind=open(at("turned-1.jpg"), "rb").read() + SECRET.encode())
    info = PngInfo()
    info.add_text("Author", SECRET)
    info.add_text("Comment", SECRET, zip=True)
    info.add_itxt("XML:com.adobe.xmp", SECRET)
    picture("RGBA").save(at("clear.png"), pnginfo=info, exif=exif(6), icc_profile=icc, dpi=(72, 72))
    picture("RGB").convert("P").save(at("palette.png"), pnginfo=info, exif=exif(1), transparency=0)
    open(at("palette.png"), "ab").write(SECRET.encode())
    picture("RGBA").save(at("lossy.webp"), exif=exif(6), xmp=xmp, icc_profile=icc)
    picture("RGB").save(at("lossless.webp"), lossless=True, exif=exif(8), xmp=xmp)
    picture("RGB").save(at("moving.webp"), save_all=True, append_images=[picture("RGB", 60)], exif=exif(3), xmp=xmp)
    picture("RGB").save(at("plain.webp"))

def look():
    told = {}
    for name in sorted(os.listdir(folder)):
        image = Image.open(os.path.join(folder, name))
        frames = []
        for i in range(getattr(image, "n_frames", 1)):
            image.seek(i)
            frames.append(hashlib.sha256(image.convert("RGBA").tobytes()).hexdigest())
        image.seek(0)
        data = image.getexif()
        told[name] = {
            "format": image.format, "size": image.size, "mode": image.mode, "frames": frames,
            "orientation": data.get(0x0112, 1), "tags": sorted(data), "place": len(data.get_ifd(0x8825)),
            "profile": hashlib.sha256(image.info.get("icc_profile") or b"").hexdigest(),
            "text": sorted(getattr(image, "text", {})),
        }
    print(json.dumps(told))

make() if sys.argv[1] == "make" else look()
