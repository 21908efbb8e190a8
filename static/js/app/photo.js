/**
 * A photo for the outbox: as it is when small, else made smaller, since a phone keeps little.
 *
 * What is drawn smaller here stays sharp enough to see every panel's edge.
 */

const SMALL_BYTES = 400_000;
const LONGEST_PX = 1600;
const QUALITY = 0.8;
/** What the server takes. */
const TYPES = ["image/jpeg", "image/png", "image/webp"];

/** @type {(file: File) => Promise<{ name: string, type: string, data: string }>} */
export async function keptPhoto(file) {
  const blob = file.size <= SMALL_BYTES && TYPES.includes(file.type) ? file : await smaller(file);
  return { name: file.name.slice(-80) || "photo.jpg", type: blob.type, data: await base64(blob) };
}

/** @type {(file: File) => Promise<Blob>} */
async function smaller(file) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, LONGEST_PX / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  if (blob instanceof Blob) return blob;
  throw new RangeError("this picture could not be made smaller");
}

/** @type {(blob: Blob) => Promise<string>} */
function base64(blob) {
  return new Promise((done, fail) => {
    const reader = new FileReader();
    reader.onload = () => done(String(reader.result).replace(/^[^,]*,/, ""));
    reader.onerror = () => fail(reader.error);
    reader.readAsDataURL(blob);
  });
}
