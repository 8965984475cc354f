// Reads a calendar on standard input with ical.js and prints, as JSON, every occurrence before a day.
// The time zones are those of the file alone: ical.js knows no others.
// Usage: node read.mjs 2028-01-01 < trees.ics
import { readFileSync } from "node:fs";
import ICAL from "ical.js";

const calendar = new ICAL.Component(ICAL.parse(readFileSync(0, "utf8")));
const before = ICAL.Time.fromDateString(process.argv[2]);
const most = 5000;

function shown(time) {
  return time.isDate ? time.toString() : new Date(time.toUnixTime() * 1000).toISOString();
}

function occurrences(event) {
  const found = [];
  const iterator = event.iterator();
  for (let at = iterator.next(); at && at.compare(before) < 0 && found.length < most; at = iterator.next()) {
    const { startDate, endDate } = event.getOccurrenceDetails(at);
    found.push([shown(startDate), shown(endDate)]);
  }
  return found;
}

const events = calendar.getAllSubcomponents("vevent").map((component) => {
  const event = new ICAL.Event(component);
  return {
    uid: event.uid,
    summary: event.summary,
    description: event.description,
    categories: component.getFirstProperty("categories").getValues(),
    sequence: event.sequence,
    status: component.getFirstPropertyValue("status"),
    alarms: component.getAllSubcomponents("valarm").length,
    occurrences: occurrences(event),
  };
});
const name = calendar.getFirstPropertyValue("name");
console.log(JSON.stringify({ name, events }));
