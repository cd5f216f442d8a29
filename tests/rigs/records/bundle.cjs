// Judges a bundle of HL7 FHIR R4: `node bundle.cjs FILE`. Exit 0 where there is no error, 1 where there is, 2 misused.
const fs = require("node:fs");
const { Fhir } = require("fhir");

if (process.argv.length !== 3) {
  console.error("usage: node bundle.cjs FILE");
  process.exit(2);
}
const bundle = JSON.parse(fs.readFileSync(process.argv[2], "utf8"));
const judge = new Fhir();
const faults = [];
let count = 0;
for (const resource of [bundle, ...(bundle.entry ?? []).map((entry) => entry.resource)]) {
  const { messages } = judge.validate(resource, { errorOnUnexpected: true });
  count += 1;
  for (const { severity, location, message } of messages) {
    if (severity === "error" || severity === "fatal") faults.push(`${location}: ${message}`);
  }
}
for (const fault of faults.slice(0, 10)) console.error(fault);
console.log(`${count} resources, ${faults.length} errors`);
process.exit(faults.length === 0 && count > 1 ? 0 : 1);
