// Reads a list of tunes as JSON on standard input; for each prints the MIDI pitches of the notes that abcjs plays, or its error.
const abcjs = require("abcjs");
const tunes = JSON.parse(require("fs").readFileSync(0, "utf8"));
console.log = console.warn = () => {};
const answers = tunes.map((text) => {
  try {
    const tune = abcjs.parseOnly(text)[0];
    const notes = tune.setUpAudio({}).tracks.flat().filter((event) => event.cmd === "note");
    return { pitches: notes.map((event) => event.pitch) };
  } catch (error) {
    return { error: String(error).slice(0, 120) };
  }
});
process.stdout.write(JSON.stringify(answers));
