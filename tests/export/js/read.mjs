// Reads calendars with ical.js and prints every occurrence before a day.
// On standard input: a line of JSON for each calendar, ["2028-01-01", "BEGIN:VCALENDAR..."]; on standard output the same
// number of lines of JSON. The time zones are those of the file alone: ical.js knows no others.
import { createInterface } from "node:readline";
import ICAL from "ical.js";

const most = 5000;

function shown(time) {
  return time.isDate ? time.toString() : new Date(time.toUnixTime() * 1000).toISOString();
}

function occurrences(event, before) {
  const found = [];
  const iterator = event.iterator();
  for (let at = iterator.next(); at && at.compare(before) < 0 && found.length < most; at = iterator.next()) {
    const { startDate, endDate } = event.getOccurrenceDetails(at);
    found.push([shown(startDate), shown(endDate)]);
  }
  return found;
}

function read(before, text) {
  ICAL.TimezoneService.reset();
  const calendar = new ICAL.Component(ICAL.parse(text));
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
      occurrences: occurrences(event, before),
    };
  });
  return { name: calendar.getFirstPropertyValue("name"), events };
}

for await (const line of createInterface({ input: process.stdin })) {
  const [before, text] = JSON.parse(line);
  let answer;
  try {
    answer = read(ICAL.Time.fromDateString(before), text);
  } catch (error) {
    answer = { error: String(error.stack) };
  }
  console.log(JSON.stringify(answer));
}
