/** Photos made small before they are kept: what is seen stays, where and by whom it was taken does not. */

const LONGEST = 1600; // [px]
const QUALITY = 0.82;

export interface Picture {
  readonly media: string;
  readonly bytes: ArrayBuffer;
}

/** Where a picture that lies on this device can be seen. */
export const addressOf = ({ media, bytes }: Picture) => URL.createObjectURL(new Blob([bytes], { type: media }));

/** A picture as JPEG, upright, at most so large. Errors: when the file is no picture that this browser reads. */
export async function shrunk(file: Blob): Promise<Picture> {
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(file);
  } catch {
    throw new Error("This file is no picture that the browser can read: take a photo, or choose a JPEG or PNG.");
  }
  const scale = Math.min(1, LONGEST / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(bitmap.width * scale));
  canvas.height = Math.max(1, Math.round(bitmap.height * scale));
  canvas.getContext("2d")!.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  const blob = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  if (!blob) throw new Error("The picture could not be made small: take it again.");
  return { media: "image/jpeg", bytes: await blob.arrayBuffer() };
}
