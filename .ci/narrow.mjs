// Writes the contract as a tool that makes up requests can use it: the club of
// the path is one that there is, and texts are short enough to be made up by the
// thousand. Left out are imports, whose bodies are whole books, and what would end
// the session that all the other requests need.
//   node narrow.mjs FROM TO CLUB
import { readFileSync, writeFileSync } from "node:fs";

const [from, to, club] = process.argv.slice(2);
const doc = JSON.parse(readFileSync(from, "utf8"));
const longest = 300;

function narrow(o) {
  if (!o || typeof o !== "object") return;
  if (typeof o.maxLength === "number" && o.maxLength > longest) delete o.maxLength;
  if (typeof o.maxItems === "number" && o.maxItems > longest) delete o.maxItems;
  if (Math.abs(o.minimum) > 2 ** 53) delete o.minimum;
  if (Math.abs(o.maximum) > 2 ** 53) delete o.maximum;
  Object.values(o).forEach(narrow);
}
narrow(doc);
doc.components.parameters.Club.schema = { type: "string", enum: [club] };
for (const path of ["/v1/clubs/{club}/imports", "/v1/sessions/end-all", "/v1/me/passphrase"]) delete doc.paths[path];
// One way to sign in will do: with two, every request is made up twice.
for (const path of Object.values(doc.paths)) {
  for (const operation of Object.values(path)) {
    if (operation.security?.length > 1) operation.security = [{ accessToken: [] }];
  }
}
writeFileSync(to, JSON.stringify(doc));
