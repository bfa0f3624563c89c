// Runs written firmware in the MicroPython runtime, each job in a fresh one: jobs come as JSON on stdin, records leave as JSON on stdout.
import { readFileSync } from "node:fs";
import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript/micropython.mjs";

const recorder = readFileSync(new URL("./recorder.py", import.meta.url), "utf8");
const jobs = JSON.parse(readFileSync(0, "utf8"));
const records = {};
for (const job of jobs) {
  const lines = [];
  const runtime = await loadMicroPython({ heapsize: 2 * 1024 * 1024, stdout: (line) => lines.push(line), linebuffer: true });
  const record = { error: null };
  try {
    for (const [name, text] of Object.entries(job.files)) runtime.FS.writeFile("/" + name, text);
    runtime.globals.set("JOB_TEXT", JSON.stringify(job.world));
    runtime.runPython(recorder);
  } catch (error) {
    record.error = String(error.message ?? error);
  }
  const marked = lines.filter((line) => line.startsWith("@@"));
  record.result = marked.length ? JSON.parse(marked[marked.length - 1].slice(2)) : null;
  record.shown = lines.filter((line) => !line.startsWith("@@")).join("\n");
  records[job.id] = record;
}
process.stdout.write(JSON.stringify(records));
