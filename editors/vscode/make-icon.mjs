// Draws icon.png: two loudspeakers in front of a paper lantern's light. `npm run icon` writes it anew.
import { writeFileSync } from "node:fs";
import { crc32, deflateSync } from "node:zlib";

const SIZE = 128;
const FINE = 4; // each point is the mean of this many squared
const GROUND = [34, 40, 56];
const LIGHT = [244, 178, 74];
const BOX = [236, 239, 244];
const CONE = [58, 68, 92];
const LEAD = [116, 196, 150];

const within = (x, y, left, top, right, bottom, round) => {
  const dx = Math.max(left + round - x, 0, x - (right - round));
  const dy = Math.max(top + round - y, 0, y - (bottom - round));
  return Math.hypot(dx, dy) <= round;
};
const disc = (x, y, cx, cy, radius) => Math.hypot(x - cx, y - cy) <= radius;

function colour(x, y) {
  if (!within(x, y, 2, 2, 126, 126, 26)) return null;
  for (const left of [22, 72]) {
    const middle = left + 17;
    if (within(x, y, left, 38, left + 34, 96, 5)) {
      if (disc(x, y, middle, 76, 4)) return LIGHT;
      if (disc(x, y, middle, 76, 13) || disc(x, y, middle, 52, 6)) return CONE;
      return BOX;
    }
  }
  // the lead that links them, hanging through
  const sag = 104 + 10 * Math.sin((Math.PI * (x - 39)) / 50);
  if (x > 36 && x < 92 && Math.abs(y - sag) < 2.6) return LEAD;
  if ((Math.abs(x - 39) < 2.6 || Math.abs(x - 89) < 2.6) && y > 94 && y < 106) return LEAD;
  if (Math.abs(Math.hypot(x - 64, y - 72) - 54) < 2.2 && y < 38) return LIGHT;
  if (Math.abs(Math.hypot(x - 64, y - 72) - 44) < 2.2 && y < 36) return LIGHT;
  return GROUND;
}

function pixel(column, row) {
  const sum = [0, 0, 0, 0];
  for (let i = 0; i < FINE * FINE; i++) {
    const seen = colour(column + ((i % FINE) + 0.5) / FINE, row + (Math.floor(i / FINE) + 0.5) / FINE);
    if (seen) [...seen, 255].forEach((value, at) => (sum[at] += at < 3 ? value : 255));
  }
  const covered = sum[3] / 255;
  return [...sum.slice(0, 3).map((value) => (covered ? Math.round(value / covered) : 0)), Math.round(sum[3] / FINE ** 2)];
}

const rows = [];
for (let row = 0; row < SIZE; row++) {
  rows.push(0); // no filter
  for (let column = 0; column < SIZE; column++) rows.push(...pixel(column, row));
}

function chunk(kind, data) {
  const body = Buffer.concat([Buffer.from(kind, "latin1"), data]);
  const frame = Buffer.alloc(8);
  frame.writeUInt32BE(data.length, 0);
  frame.writeUInt32BE(crc32(body), 4);
  return Buffer.concat([frame.subarray(0, 4), body, frame.subarray(4)]);
}

const head = Buffer.alloc(13);
head.writeUInt32BE(SIZE, 0);
head.writeUInt32BE(SIZE, 4);
head.set([8, 6, 0, 0, 0], 8);
const parts = [chunk("IHDR", head), chunk("IDAT", deflateSync(Buffer.from(rows))), chunk("IEND", Buffer.alloc(0))];
writeFileSync(
  new URL("icon.png", import.meta.url),
  Buffer.concat([Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]), ...parts]),
);
