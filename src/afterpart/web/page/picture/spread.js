/**
 * Where numbers go when many stand close together: each as near to its place as it can be without covering another.
 *
 * Points are screen pixels.  The answer depends on the points alone (no chance in it), so that a picture looks alike each time.
 * Limits: a coarse push apart, enough for a hundred numbers; where there is no room at all they may still touch.
 */
// SPDX-License-Identifier: Apache-2.0

const ROUNDS = 80;
const GOLDEN_ANGLE = 2.399963;

/**
 * @param {[number, number][]} anchors what each number belongs to
 * @param {number} distance wanted between the middles of two numbers
 * @param {number} away first distance of a number from its anchor
 * @param {{width: number, height: number}} room the numbers stay inside
 * @returns {[number, number][]} the middles
 */
export function spread(anchors, distance, away, room) {
  const middle = anchors.reduce((sum, at) => [sum[0] + at[0] / anchors.length, sum[1] + at[1] / anchors.length], [0, 0]);
  /** @type {[number, number][]} */
  const places = anchors.map((at, index) => {
    const angle = Math.hypot(at[0] - middle[0], at[1] - middle[1]) > 1
      ? Math.atan2(at[1] - middle[1], at[0] - middle[0]) : index * GOLDEN_ANGLE;
    return [at[0] + away * Math.cos(angle), at[1] + away * Math.sin(angle)];
  });
  for (let round = 0; round < ROUNDS; round += 1) {
    if (!pushApart(places, distance)) break;
    keepInside(places, distance / 2, room);
  }
  keepInside(places, distance / 2, room);
  return places;
}

/** @param {[number, number][]} places @param {number} distance @returns {boolean} whether anything moved */
function pushApart(places, distance) {
  let moved = false;
  for (let i = 0; i < places.length; i += 1) {
    for (let k = i + 1; k < places.length; k += 1) {
      let dx = places[k][0] - places[i][0];
      let dy = places[k][1] - places[i][1];
      // most pairs are far apart: told without a root
      if (dx * dx + dy * dy >= distance * distance) continue;
      let far = Math.hypot(dx, dy);
      if (far < 1e-6) {
        [dx, dy] = [Math.cos(k * GOLDEN_ANGLE), Math.sin(k * GOLDEN_ANGLE)];
        far = 1;
        places[k] = [places[i][0] + dx * 0.5, places[i][1] + dy * 0.5];
      }
      const step = (distance - Math.min(far, distance)) / 2 / far;
      places[i] = [places[i][0] - dx * step, places[i][1] - dy * step];
      places[k] = [places[k][0] + dx * step, places[k][1] + dy * step];
      moved = true;
    }
  }
  return moved;
}

/** @param {[number, number][]} places @param {number} edge @param {{width: number, height: number}} room */
function keepInside(places, edge, room) {
  for (const place of places) {
    if (place[0] < -60 || place[1] < -60 || place[0] > room.width + 60 || place[1] > room.height + 60) continue;
    place[0] = Math.min(Math.max(place[0], edge), room.width - edge);
    place[1] = Math.min(Math.max(place[1], edge), room.height - edge);
  }
}
