// SPDX-License-Identifier: MIT
#include "guide/guide_plan.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

// Whether a row of TABLE begins with WORD, and has SECOND next where that is asked for.
static bool holds(const DwTable *table, const char *word, const char *second)
{
    for (size_t r = 0; r < table->row_count; r++)
        if (strcmp(dw_table_cell(table, r, 0)->word, word) == 0 &&
            (!second || strcmp(dw_table_cell(table, r, 1)->word, second) == 0))
            return true;
    return false;
}

// Adds each line of "POINT: WHAT" in LINES to a table of two columns, unless it stands there.
static void add_points(const DwGuideTexts *lines, DwTable *table)
{
    for (size_t i = 0; i < lines->count; i++) {
        const char *text = lines->texts[i];
        size_t length = strcspn(text, ":");
        char *point = dw_text_format("%.*s", (int)length, text);
        const char *what = text + length + strspn(text + length, ": ");
        if (!holds(table, point, what)) {
            size_t row = dw_table_add_row(table);
            dw_table_set_word(table, row, 0, point);
            dw_table_set_word(table, row, 1, what);
        }
        free(point);
    }
}

// Each tool once, in the order in which it is wanted first.
static void add_tools(const DwGuideRemedy *remedy, DwTable *table)
{
    for (const char *at = remedy->tools ? remedy->tools : ""; *at;) {
        at += strspn(at, "; ");
        size_t length = strcspn(at, ";");
        char *tool = dw_text_format("%.*s", (int)length, at);
        if (*tool && !holds(table, tool, NULL)) {
            size_t row = dw_table_add_row(table);
            dw_table_set_word(table, row, 0, tool);
            dw_table_set_word(table, row, 1, remedy->name);
        }
        free(tool);
        at += length;
    }
}

static void add_work(const DwGuideKnowledge *knowledge, const DwGuideWork *work, DwTable *table, DwSheet *sheet)
{
    const DwGuideRemedy *remedy = &knowledge->remedies[work->remedy];
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, remedy->opens);
    dw_table_set_number(table, row, 1, work->least);
    dw_table_set_number(table, row, 2, work->most);
    dw_table_set_word(table, row, 3, remedy->name);
    dw_table_set_word(table, row, 4, knowledge->faults[work->fault].name);
    dw_table_set_word(table, row, 5, remedy->parts ? remedy->parts : "");
    dw_sheet_caution(sheet, "%s: %s", remedy->name, remedy->caution);
    for (size_t k = 0; k < remedy->never.count; k++)
        dw_sheet_caution(sheet, "%s", remedy->never.texts[k]);
}

// What is behind the same opening as WORK and is done together with it, by names: "A; B"; "" for nothing. The caller
// frees it with free().
static char *together_with(const DwGuideKnowledge *knowledge, const DwGuideWorks *works, size_t work)
{
    const char *opens = knowledge->remedies[works->works[work].remedy].opens;
    DwText names = {0};
    for (size_t i = 0; strcmp(opens, "nothing") != 0 && i < works->count; i++)
        if (i != work && strcmp(knowledge->remedies[works->works[i].remedy].opens, opens) == 0)
            dw_text_add(&names, "%s%s", names.length ? "; " : "", knowledge->remedies[works->works[i].remedy].name);
    dw_text_add(&names, "%s", "");
    return dw_text_take(&names);
}

// Of the same operation the minutes are counted once, with the first work.
static void remark_counted(const DwGuideKnowledge *knowledge, const DwGuideWorks *works, DwSheet *sheet)
{
    for (size_t i = 0; i < works->count; i++) {
        const DwGuideRemedy *remedy = &knowledge->remedies[works->works[i].remedy];
        for (size_t k = 0; works->works[i].counted && k < i; k++) {
            const DwGuideRemedy *earlier = &knowledge->remedies[works->works[k].remedy];
            if (!works->works[k].counted && earlier->operation && strcmp(earlier->operation, remedy->operation) == 0)
                dw_sheet_remark(sheet, "%s: counted with the minutes of: %s.", remedy->name, earlier->name);
        }
    }
}

// What to do once something is open, said with the first work behind it.
static void remark_together(const DwGuideKnowledge *knowledge, const DwGuideWorks *works, DwSheet *sheet)
{
    static const struct {
        const char *opens, *words;
    } openings[] = {{"top", "Once the platter is off"},
                    {"underside", "Once the underside is open"},
                    {"mechanism", "Once the mechanism is open"},
                    {"arm", "Once the arm is apart"},
                    {"cartridge", "Once the cartridge is loose"}};
    for (size_t o = 0; o < sizeof openings / sizeof *openings; o++)
        for (size_t i = 0; i < works->count; i++) {
            const DwGuideRemedy *remedy = &knowledge->remedies[works->works[i].remedy];
            if (strcmp(remedy->opens, openings[o].opens) != 0)
                continue;
            char *others = together_with(knowledge, works, i);
            if (*others)
                dw_sheet_remark(sheet, "%s, do these together: %s; %s.", openings[o].words, remedy->name, others);
            free(others);
            break;
        }
}

void dw_guide_plan_add(const DwGuideKnowledge *knowledge, const DwGuideWorks *works, DwSheet *sheet)
{
    static const char *const columns[] = {"opens|Open||0",
                                          "least|Minutes|min|0",
                                          "most|to|min|0",
                                          "operation|Work||0",
                                          "for|For||0",
                                          "parts|Parts||0",
                                          NULL};
    static const char *const tools[] = {"tool|Tool||0", "first|First for||0", NULL};
    static const char *const oils[] = {"point|Point||0", "lubricant|Lubricant and how much||0", NULL};
    static const char *const torques[] = {"point|Point||0", "torque|How tight, or with what care||0", NULL};
    size_t oiled = 0, tightened = 0;
    DwTable *table = dw_sheet_add_table(sheet, "guide.work", "Work plan, in this order", columns);
    for (size_t i = 0; i < works->count; i++) {
        add_work(knowledge, &works->works[i], table, sheet);
        oiled += knowledge->remedies[works->works[i].remedy].lubricant.count;
        tightened += knowledge->remedies[works->works[i].remedy].torque.count;
    }
    table = dw_sheet_add_table(sheet, "guide.tools", "Tools to lay out", tools);
    for (size_t i = 0; i < works->count; i++)
        add_tools(&knowledge->remedies[works->works[i].remedy], table);
    table = oiled ? dw_sheet_add_table(sheet, "guide.lubricants", "Lubricants by point", oils) : NULL;
    for (size_t i = 0; oiled && i < works->count; i++)
        add_points(&knowledge->remedies[works->works[i].remedy].lubricant, table);
    table = tightened ? dw_sheet_add_table(sheet, "guide.torque", "How tight, by point", torques) : NULL;
    for (size_t i = 0; tightened && i < works->count; i++)
        add_points(&knowledge->remedies[works->works[i].remedy].torque, table);
    remark_counted(knowledge, works, sheet);
    remark_together(knowledge, works, sheet);
}

DwSheet *dw_guide_plan_sheet(const DwGuideKnowledge *knowledge, const DwGuideWorks *works)
{
    DwSheet *sheet = dw_sheet_new("guide", "Work plan");
    dw_guide_plan_add(knowledge, works, sheet);
    return sheet;
}
