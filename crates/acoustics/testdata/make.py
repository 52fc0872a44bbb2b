"""Makes the small recordings of this folder with programs and libraries from outside the project.

Run with numpy and scipy, and with ffmpeg, sox, flac and lame in the path. Frame i of channel c is
((37 i + 11 c) mod 101 - 50) / 64, which every width from 8 bits up holds exactly; tones are 1 kHz.
"""

import struct
import subprocess
import wave

import numpy as np
from scipy.io import wavfile

FRAMES = 33


def values(channels, frames=FRAMES):
    i = np.arange(frames)[:, None]
    c = np.arange(channels)[None, :]
    return ((37 * i + 11 * c) % 101 - 50) / 64


def write_whole(name, bits, channels, rate):
    scaled = np.round(values(channels) * 2 ** (bits - 1)).astype(np.int64)
    scaled += 128 if bits == 8 else 0
    data = b"".join(int(v).to_bytes(bits // 8, "little", signed=bits > 8) for v in scaled.ravel())
    with wave.open(name, "wb") as out:
        out.setnchannels(channels)
        out.setsampwidth(bits // 8)
        out.setframerate(rate)
        out.writeframes(data)


def run(*args, **kwargs):
    subprocess.run(args, check=True, **kwargs)


for bits in (8, 16, 24, 32):
    write_whole(f"python-wave-{bits}bit-mono.wav", bits, 1, 48000)
write_whole("python-wave-16bit-3ch.wav", 16, 3, 44100)

wavfile.write("scipy-int16-stereo.wav", 44100, np.round(values(2) * 2**15).astype(np.int16))
wavfile.write("scipy-int32-mono.wav", 96000, np.round(values(1) * 2**31).astype(np.int32))
wavfile.write("scipy-float32-stereo.wav", 48000, values(2).astype(np.float32))
wavfile.write("scipy-float64-mono.wav", 8000, values(1).astype(np.float64))

stereo = "scipy-int16-stereo.wav"
quiet = ("ffmpeg", "-v", "error", "-y", "-bitexact")
run(*quiet, "-i", stereo, "-rf64", "always", "-c:a", "pcm_s16le", "ffmpeg-rf64.wav")
run(*quiet, "-i", stereo, "-c:a", "pcm_s24le", "ffmpeg-24bit.wav")
with open("ffmpeg-streamed.wav", "wb") as out:
    run(*quiet, "-i", stereo, "-c:a", "pcm_s16le", "-f", "wav", "pipe:1", stdout=out)
run("sox", "-D", stereo, "-b", "24", "-e", "signed-integer", "sox-24bit-extensible.wav")
run("sox", "-D", stereo, "-b", "32", "-e", "float", "sox-float32.wav")
raw = "-t raw -r 44100 -e signed-integer -b 16 -c 2 -"
run("sh", "-c", f"sox -D {stereo} {raw} | sox -D {raw} -t wav - | cat > sox-streamed.wav")
run("sox", "-D", stereo, "-e", "a-law", "sox-a-law.wav")
run("sox", "-D", stereo, "-e", "gsm-full-rate", "sox-gsm.wav", "remix", "1", "rate", "8000")
run("flac", "--silent", "--force", "--no-padding", "-o", "flac-16bit-stereo.flac", stereo)
run("flac", "--silent", "--force", "--no-padding", "--blocksize=16", "-o", "flac-small-blocks.flac", stereo)
run("flac", "--silent", "--force", "--no-padding", "-o", "flac-24bit-mono.flac", "python-wave-24bit-mono.wav")

tone = "tone.wav"
n = np.arange(4800)
left, right = 0.5 * np.sin(2 * np.pi * n / 48), 0.25 * np.sin(2 * np.pi * n / 48)
wavfile.write(tone, 48000, np.round(np.stack([left, right], 1) * 2**15).astype(np.int16))
run("lame", "--quiet", "-b", "96", "--resample", "48", tone, "lame-tone.mp3")
run(*quiet, "-i", tone, "-c:a", "aac", "-b:a", "128k", "-aac_ms", "0", "-aac_is", "0", "ffmpeg-tone.m4a")
run(*quiet, "-i", stereo, "-c:a", "alac", "ffmpeg-alac.m4a")
run("rm", tone)
