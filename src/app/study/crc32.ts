/** CRC-32 as zip archives carry it (ITU-T V.42, reflected polynomial 0xEDB88320). Continues from the sum before. */
export function crc32(bytes: Uint8Array, before = 0): number {
  let sum = ~before;
  for (let i = 0; i < bytes.length; i++)
    sum = (TABLE[(sum ^ (bytes[i] as number)) & 0xff] as number) ^ (sum >>> 8);
  return ~sum >>> 0;
}

const TABLE = Int32Array.from({ length: 256 }, (_, byte) => {
  let sum = byte;
  for (let bit = 0; bit < 8; bit++) sum = sum & 1 ? (sum >>> 1) ^ 0xedb88320 : sum >>> 1;
  return sum;
});
