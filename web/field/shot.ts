// A picture made small enough to send over a poor network: at most 1,600 pixels a side and 400 kB. Drawing it anew leaves out what
// the camera wrote into it, such as the place.

const SIDE_MAX = 1600
const BYTES_MAX = 400_000

/** The picture as a small JPEG. */
export async function small(file: Blob): Promise<ArrayBuffer> {
  const picture = await createImageBitmap(file, { imageOrientation: 'from-image' })
  try {
    for (let side = SIDE_MAX; side >= 200; side = Math.round(side * 0.75)) {
      const share = Math.min(1, side / Math.max(picture.width, picture.height))
      const canvas = document.createElement('canvas')
      canvas.width = Math.max(1, Math.round(picture.width * share))
      canvas.height = Math.max(1, Math.round(picture.height * share))
      canvas.getContext('2d')?.drawImage(picture, 0, 0, canvas.width, canvas.height)
      for (const quality of [0.85, 0.7, 0.55]) {
        const blob = await new Promise<Blob | null>((yes) => canvas.toBlob(yes, 'image/jpeg', quality))
        if (blob && blob.size <= BYTES_MAX) return await blob.arrayBuffer()
      }
    }
    throw new Error('This picture cannot be made small enough')
  } finally {
    picture.close()
  }
}
