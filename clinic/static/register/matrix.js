/* The matrix by keyboard: one stop for Tab, the arrows go from shape to shape, Home and End to the ends of a row. */
"use strict";

const ARROWS = { ArrowRight: [0, 1], ArrowLeft: [0, -1], ArrowDown: [1, 0], ArrowUp: [-1, 0] };

const goesByKeyboard = (table) => {
  const grid = [...table.rows].map((row) => [...row.cells].map((cell) => cell.querySelector("a")));
  const links = grid.flat().filter(Boolean);
  const stops = (link) => {
    links.forEach((each) => (each.tabIndex = each === link ? 0 : -1));
  };
  const placeOf = (link) => {
    const row = grid.findIndex((each) => each.includes(link));
    return [row, grid[row].indexOf(link)];
  };
  /* The next link in that direction; a blank between two is stepped over. */
  const next = ([row, column], [down, right]) => {
    for (let r = row + down, c = column + right; grid[r] && c >= 0 && c < grid[r].length; r += down, c += right) {
      if (grid[r][c]) return grid[r][c];
    }
    return null;
  };
  const ends = { Home: (row) => row.find(Boolean), End: (row) => row.findLast(Boolean) };

  table.addEventListener("keydown", (event) => {
    const link = event.target.closest("a");
    if (!link || event.ctrlKey || event.metaKey || event.altKey) return;
    const place = placeOf(link);
    const to = event.key in ARROWS ? next(place, ARROWS[event.key]) : ends[event.key]?.(grid[place[0]]);
    if (!(event.key in ARROWS || event.key in ends)) return;
    event.preventDefault();
    if (to) to.focus();
  });
  table.addEventListener("focusin", (event) => stops(event.target));
  if (links.length) stops(table.tBodies[0]?.querySelector("a.cell") || links[0]);
};

document.querySelectorAll("table.matrix").forEach(goesByKeyboard);
