// SPDX-License-Identifier: MIT
#include "book/shop/people.h"

#include "base/text.h"
#include "book/shop/settings.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define KEY "people.list"

static const char *const right_words[] = {
    [DW_RIGHT_COUNTER] = "counter", [DW_RIGHT_TECHNICIAN] = "technician", [DW_RIGHT_OWNER] = "owner"};

const char *dw_right_word(DwRight right)
{
    return (size_t)right < sizeof right_words / sizeof *right_words ? right_words[right] : "";
}

// The LENGTH letters at TEXT without the blanks around them.
static const char *trim(const char *text, size_t *length)
{
    while (*length && isspace((unsigned char)*text)) {
        text++;
        --*length;
    }
    while (*length && isspace((unsigned char)text[*length - 1]))
        --*length;
    return text;
}

static bool read_right(const char *text, size_t length, DwRight *right)
{
    for (size_t i = 0; i < sizeof right_words / sizeof *right_words; i++)
        if (strlen(right_words[i]) == length && strncasecmp(text, right_words[i], length) == 0) {
            *right = (DwRight)i;
            return true;
        }
    return false;
}

// Reads LENGTH letters of LINE. Returned: what is wrong with it, or NULL.
static const char *read_person(const char *line, size_t length, DwPerson *person)
{
    const char *first = memchr(line, '|', length);
    const char *second = first ? memchr(first + 1, '|', length - (size_t)(first + 1 - line)) : NULL;
    if (!second)
        return "wants a name, a right and a mark with bars between: Ines | owner | 3";
    size_t name = (size_t)(first - line), right = (size_t)(second - first - 1);
    const char *at = trim(line, &name);
    if (!name || name >= DW_PERSON_NAME)
        return "has no name, or one longer than 60 letters";
    *person = (DwPerson){0};
    memcpy(person->name, at, name);
    at = trim(first + 1, &right);
    if (!read_right(at, right, &person->right))
        return "is counter, technician or owner";
    size_t mark = length - (size_t)(second + 1 - line);
    at = trim(second + 1, &mark);
    if (mark < 1 || mark > 2 || !isdigit((unsigned char)at[0]) || (mark == 2 && !isdigit((unsigned char)at[1])))
        return "has a mark from 1 to 12";
    person->mark = (unsigned)(at[0] - '0');
    if (mark == 2)
        person->mark = 10 * person->mark + (unsigned)(at[1] - '0');
    return person->mark >= 1 && person->mark <= DW_PEOPLE_MARKS ? NULL : "has a mark from 1 to 12";
}

static DwStatus read_list(const char *text, DwPeople *people, DwMessage *message)
{
    *people = (DwPeople){0};
    for (const char *line = text; *line;) {
        size_t length = strcspn(line, "\n"), size = length;
        const char *at = trim(line, &size);
        DwPerson person;
        const char *wrong = !size                             ? NULL
                            : people->count == DW_PEOPLE_MOST ? "is one too many: 24 people are listed at most"
                                                              : read_person(at, size, &person);
        if (size && !wrong && dw_people_find(people, person.name))
            wrong = "stands there twice";
        if (wrong)
            return dw_fail(message, DW_BAD_INPUT, "\"%.*s\" %s.", dw_text_whole(at, size < 60 ? (int)size : 60), at,
                           wrong);
        if (size)
            people->list[people->count++] = person;
        line += length + (line[length] == '\n');
    }
    return DW_OK;
}

DwStatus dw_people_check(const DwBook *book, const DwField *field, const char *text, DwMessage *message)
{
    (void)book;
    (void)field;
    DwPeople people;
    DwStatus status = read_list(text, &people, message);
    bool owner = people.count == 0;
    for (size_t i = 0; i < people.count; i++)
        owner = owner || people.list[i].right == DW_RIGHT_OWNER;
    if (status == DW_OK && !owner)
        status = dw_fail(message, DW_BAD_INPUT, "Somebody must be an owner: nobody could change the list else.");
    return status;
}

void dw_people_read(DwBook *book, DwPeople *people)
{
    char *text = dw_settings_text(book, KEY);
    if (read_list(text, people, NULL) != DW_OK)
        *people = (DwPeople){0};
    free(text);
}

DwStatus dw_people_keep(DwBook *book, const DwPeople *people, DwMessage *message)
{
    DwText text = {0};
    dw_text_add(&text, "%s", "");
    for (size_t i = 0; i < people->count; i++) {
        const DwPerson *person = &people->list[i];
        if (strpbrk(person->name, "|\n\r")) {
            dw_text_clear(&text);
            return dw_fail(message, DW_BAD_INPUT, "A name has no bar (|) in it.");
        }
        dw_text_add(&text, "%s%s | %s | %u", i ? "\n" : "", person->name, dw_right_word(person->right), person->mark);
    }
    DwStatus status = dw_settings_set(book, KEY, text.chars, message);
    dw_text_clear(&text);
    return status;
}

const DwPerson *dw_people_find(const DwPeople *people, const char *name)
{
    for (size_t i = 0; i < people->count; i++)
        if (strcmp(people->list[i].name, name) == 0)
            return &people->list[i];
    return NULL;
}

unsigned dw_people_free_mark(const DwPeople *people)
{
    for (unsigned mark = 1; mark <= DW_PEOPLE_MARKS; mark++) {
        bool taken = false;
        for (size_t i = 0; i < people->count; i++)
            taken = taken || people->list[i].mark == mark;
        if (!taken)
            return mark;
    }
    return 1;
}
