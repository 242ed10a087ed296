/** Cards and passes for the tests of the desk. */

export function pass(clean, more = {}) {
  return { tune: "mill-lane", tier: "beginner", tempo: 80, first: 1, clean, whole: true, ...more };
}

export function card(student, more = {}) {
  return {
    student, name: student[0].toUpperCase() + student.slice(1), here: true, state: "between passes", tune: "mill-lane",
    title: "Mill Lane", tier: "beginner", mix: [], tempo: 80, first: 1, last: 16, measures: 16, measure: null, marks: null,
    strips: [], stuck: null, times: 0, practised: "", watched: false, ...more,
  };
}
