// Pictures that tests hand to forms: drawn by the browser, and then marked or spoilt byte by byte. JPEG markers are those of ITU-T T.81,
// Exif tags those of Exif 2.32; both from memory.

/** A JPEG of this size, drawn in the page: stripes, so that a lost or turned picture would show. */
export async function drawn(page, width, height) {
  const base64 = await page.evaluate(
    async ([width, height]) => {
      const canvas = document.createElement('canvas');
      canvas.width = width;
      canvas.height = height;
      const pen = canvas.getContext('2d');
      for (let at = 0; at < width; at += 40) {
        pen.fillStyle = `hsl(${(at * 7) % 360} 60% 50%)`;
        pen.fillRect(at, 0, 40, height);
      }
      const address = canvas.toDataURL('image/jpeg', 0.9);
      return address.slice(address.indexOf(',') + 1);
    },
    [width, height],
  );
  return Buffer.from(base64, 'base64');
}

/** The picture with the time it was taken, by a clock that says its zone. */
export function takenAt(jpeg, time, zone) {
  const text = (tag, words, at) => [tag >> 8, tag & 255, 0, 2, 0, 0, 0, words.length + 1, 0, 0, 0, at];
  const values = Buffer.from(`${time}\0${zone}\0`, 'latin1');
  const tiff = Buffer.concat([
    Buffer.from([0x4d, 0x4d, 0, 42, 0, 0, 0, 8, 0, 1, 0x87, 0x69, 0, 4, 0, 0, 0, 1, 0, 0, 0, 26, 0, 0, 0, 0]),
    Buffer.from([0, 2, ...text(0x9003, time, 56), ...text(0x9011, zone, 56 + time.length + 1), 0, 0, 0, 0]),
    values,
  ]);
  const body = Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), tiff]);
  const length = Buffer.from([(body.length + 2) >> 8, (body.length + 2) & 255]);
  return Buffer.concat([jpeg.subarray(0, 2), Buffer.from([0xff, 0xe1]), length, body, jpeg.subarray(2)]);
}

/** The picture with a head that claims another size. */
export function claiming(jpeg, width, height) {
  const spoilt = Buffer.from(jpeg);
  const frame = spoilt.indexOf(Buffer.from([0xff, 0xc0]));
  spoilt.writeUInt16BE(height, frame + 5);
  spoilt.writeUInt16BE(width, frame + 7);
  return spoilt;
}

/** The head of a HEIC file: box `ftyp` of ISO/IEC 14496-12 with its brand. */
export const HEIC = Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypheic\0\0\0\0mif1heic', 'latin1'), Buffer.alloc(400)]);

/** A file as a form takes it. */
export const file = (name, buffer, mimeType = 'image/jpeg') => ({ name, mimeType, buffer });

/** Width and height of a JPEG, from its frame head (T.81, B.2.2), baseline or progressive. */
export function sizeOf(jpeg) {
  const frame = [0xc0, 0xc2].map((marker) => jpeg.indexOf(Buffer.from([0xff, marker]))).find((at) => at > 0);
  return { height: jpeg.readUInt16BE(frame + 5), width: jpeg.readUInt16BE(frame + 7) };
}
