/** The service answered, and refused. */
export class Refused extends Error {
    status;
    problem;
    wait;
    constructor(status, problem, wait) {
        super(problem.detail);
        this.status = status;
        this.problem = problem;
        this.wait = wait;
    }
}
/** No answer came: the service or the connection is away. */
export class Away extends Error {
}
/** A client of the service at an address; headers are asked for before each call. */
export function client(service, headers = async () => ({})) {
    return async (verb, address, call = {}) => {
        const at = String(address).slice(1).replace(/\{(\w+)\}/g, (_, name) => encodeURIComponent(String(call.path[name])));
        const url = new URL(at, service);
        for (const [name, value] of Object.entries((call.query ?? {})))
            if (value != null)
                url.searchParams.set(name, String(value));
        const media = call.body === undefined ? {} : { "Content-Type": verb === "patch" ? "application/merge-patch+json" : "application/json" };
        const all = { ...media, ...(await headers()), ...call.headers };
        const body = call.body === undefined ? null : JSON.stringify(call.body);
        const answer = await fetch(url, { method: verb.toUpperCase(), headers: all, body, credentials: "omit", signal: call.signal ?? AbortSignal.timeout(20_000) }).catch((why) => {
            throw new Away(String(why));
        });
        const text = await answer.text();
        const read = text === "" ? undefined : parsed(text);
        if (answer.ok)
            return read;
        throw new Refused(answer.status, read?.detail ? read : { type: "about:blank", title: answer.statusText, status: answer.status, detail: `The service answered ${answer.status}.` }, Number(answer.headers.get("Retry-After")));
    };
}
function parsed(text) {
    try {
        return JSON.parse(text);
    }
    catch {
        return undefined;
    }
}
