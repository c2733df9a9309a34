// SPDX-License-Identifier: MIT
// The marks of the people at the bench: strokes that are told apart without colour, and the words for them.
#include "web/page/person_mark.h"

#include "web/server/words.h"

#include <stdio.h>

static const struct {
    const char *words, *path; // in a square of 24
} marks[DW_PEOPLE_MARKS] = {
    {N_("Cross"), "M12 3V21M3 12H21"},
    {N_("Crossed strokes"), "M5 5L19 19M19 5L5 19"},
    {N_("Two uprights"), "M8 4V20M16 4V20"},
    {N_("Three bars"), "M4 6H20M4 12H20M4 18H20"},
    {N_("Wave"), "M3 12C6 3 9 3 12 12S18 21 21 12"},
    {N_("Zigzag"), "M3 17L8 7L12 17L16 7L21 17"},
    {N_("Crescent"), "M16 4A9 9 0 1 0 16 20A10 10 0 0 1 16 4Z"},
    {N_("Diamond"), "M12 3L20 12L12 21L4 12Z"},
    {N_("Hourglass"), "M6 4H18L6 20H18Z"},
    {N_("Hook"), "M7 3V14A5 5 0 0 0 17 14V11"},
    {N_("Fork"), "M12 21V12M5 4V7A7 5 0 0 0 19 7V4"},
    {N_("Steps"), "M3 20V14H9V9H15V4H21"},
};

const char *dw_person_mark_words(unsigned mark)
{
    return mark >= 1 && mark <= DW_PEOPLE_MARKS ? dw_words(marks[mark - 1].words) : "";
}

void dw_person_mark_write(DwHtml *html, unsigned mark)
{
    if (mark < 1 || mark > DW_PEOPLE_MARKS)
        return;
    dw_html_open(html, "svg", "class", "person", "viewBox", "0 0 24 24", "aria-hidden", "true", NULL);
    dw_html_element(html, "path", "", "d", marks[mark - 1].path, NULL);
    dw_html_close(html, "svg");
}

void dw_person_write(DwHtml *html, const DwPeople *people, const char *name)
{
    const DwPerson *person = dw_people_find(people, name);
    if (person)
        dw_person_mark_write(html, person->mark);
    dw_html_text(html, name);
}
