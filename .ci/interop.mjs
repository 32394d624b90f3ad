// Holds what the running program sends against programs that are not our own:
// the calendar against ical.js, the messages to webhooks against standardwebhooks.
// The program runs with WEBHOOKS_LOOPBACK=on.
import assert from 'node:assert/strict'
import { createServer } from 'node:http'
import ICAL from 'ical.js'
import { Webhook } from 'standardwebhooks'

const club = `http://${process.env.ADDR}/v1/clubs/${process.argv[2]}`
const authorization = `Bearer ${process.env.TOKEN}`

async function post(path, body) {
  const answer = await fetch(club + path, {
    method: 'POST', headers: { authorization, 'content-type': 'application/json' }, body: JSON.stringify(body),
  })
  const out = await answer.json()
  assert.ok(answer.ok, `${path}: ${JSON.stringify(out)}`)
  return out
}

await post('/cultures', { name: `Líne; a, "b" ${'ü'.repeat(60)}`, species: 'eisenia-fetida' })
const { link } = await post('/calendars', { name: 'interop', whose: 'club' })
const text = await (await fetch(link.replace(/^https?:\/\/[^/]+/, `http://${process.env.ADDR}`))).text()
const calendar = new ICAL.Component(ICAL.parse(text))
const events = calendar.getAllSubcomponents('vevent').map((e) => new ICAL.Event(e))
assert.ok(events.some((e) => e.summary === `Líne; a, "b" ${'ü'.repeat(60)} has no backup`), text)
assert.ok(events.every((e) => e.uid && e.startDate.isDate && e.endDate.isDate), text)
assert.ok(text.split('\r\n').every((line) => Buffer.byteLength(line) <= 75 && !line.includes('\n')), text)

const told = new Promise((resolve) => {
  const server = createServer((request, answer) => {
    let body = ''
    request.on('data', (part) => { body += part })
    request.on('end', () => {
      answer.writeHead(204).end()
      server.close()
      resolve({ headers: request.headers, body })
    })
  })
  server.listen(18083, '127.0.0.1')
})
const { secret } = await post('/webhooks', { name: 'interop', url: 'http://127.0.0.1:18083/', events: ['offer.made'] })
const offer = await post('/offers', { what: 'Worms' })
const { headers, body } = await told
const event = new Webhook(secret).verify(body, headers)
assert.equal(event.type, 'offer.made')
assert.equal(event.data.id, offer.id)
assert.throws(() => new Webhook(secret).verify(body.replace('offer', 'Offer'), headers))
console.log(`${events.length} events read by ical.js, a message verified by standardwebhooks`)
