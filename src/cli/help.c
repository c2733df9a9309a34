// SPDX-License-Identifier: MIT
#include "cli/help.h"

#include "base/text.h"
#include "cli/tell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const DwCommand *dw_command_find(const char *name)
{
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        if (strcmp(command->name, name) == 0)
            return command;
    return NULL;
}

const DwVerb *dw_verb_find(const DwCommand *command, const char *name)
{
    for (const DwVerb *verb = command->verbs ? command->verbs() : NULL; verb && verb->name; verb++)
        if (strcmp(verb->name, name) == 0)
            return verb;
    return NULL;
}

const DwEntity *dw_command_kind(const DwCommand *command, const char *name)
{
    const DwEntity *kind;
    for (size_t i = 0; command->kind_at && (kind = command->kind_at(i)); i++)
        if (strcmp(kind->name, name) == 0)
            return kind;
    return NULL;
}

static void take_nearer(const char *name, const char *candidate, const char **nearest, size_t *least)
{
    size_t distance = dw_text_distance(name, candidate);
    if (distance < *least) {
        *nearest = candidate;
        *least = distance;
    }
}

const char *dw_help_nearest(const char *name)
{
    const char *nearest = NULL;
    size_t least = strlen(name) / 2 + 1;
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        take_nearer(name, procedure->name, &nearest, &least);
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        take_nearer(name, command->name, &nearest, &least);
    return nearest;
}

static void print_range(const char *words, double low, double high, const char *unit, FILE *stream)
{
    const char *blank = unit && *unit ? " " : "";
    dw_tell(stream, "%s %.10g to %.10g%s%s", words, low, high, blank, blank[0] ? unit : "");
}

static void print_ranges(const DwQuantity *quantity, FILE *stream)
{
    bool usual = dw_range_is_set(quantity->plausible), accepted = dw_range_is_set(quantity->possible);
    if (!usual && !accepted)
        return;
    fprintf(stream, "  %-28s   ", "");
    if (usual)
        print_range(dw_said("Usual:"), quantity->plausible.low, quantity->plausible.high, quantity->unit, stream);
    if (accepted)
        print_range(usual ? dw_said("; accepted:") : dw_said("Accepted:"), quantity->possible.low,
                    quantity->possible.high, quantity->unit, stream);
    fputs(".\n", stream);
}

void dw_help_quantity(const DwQuantity *quantity, FILE *stream)
{
    fprintf(stream, "  %-28s %s", quantity->key, dw_said(quantity->label));
    if (quantity->kind == DW_QUANTITY_CHOICE)
        fprintf(stream, ": %s", quantity->choices);
    else if (quantity->unit && *quantity->unit)
        fprintf(stream, ", %s", quantity->unit);
    if (quantity->preset)
        fprintf(stream, " [%s]", quantity->preset);
    if (quantity->repeats)
        dw_tell(stream, " (may repeat)");
    fprintf(stream, "\n  %-28s   %s\n", "", dw_said(quantity->help));
    print_ranges(quantity, stream);
}

// What is typed into a field of a kind that its label does not tell.
static const char *form_of(const DwField *field)
{
    switch (field->kind) {
    case DW_FIELD_DATE:
        return "a date such as 2026-11-25";
    case DW_FIELD_MOMENT:
        return "a date and time such as 2026-11-25T14:16Z";
    case DW_FIELD_AMOUNT:
        return "an amount of money";
    case DW_FIELD_RATE:
        return "per cent";
    case DW_FIELD_YES:
        return "yes or no";
    case DW_FIELD_INTEGER:
        return "a whole number";
    case DW_FIELD_PATH:
        return "a path";
    case DW_FIELD_REFERENCE:
        return field->refers;
    case DW_FIELD_TEXT:
    case DW_FIELD_REAL:
    case DW_FIELD_CHOICE:
        break;
    }
    return field->unit;
}

void dw_help_field(const DwField *field, FILE *stream)
{
    const char *form = form_of(field);
    form = form ? dw_said(form) : NULL;
    fprintf(stream, "  %-22s %s%s", field->key, dw_said(field->label), field->required ? dw_said(" (needed)") : "");
    if (form)
        fprintf(stream, ", %s%s", field->kind == DW_FIELD_REFERENCE ? dw_said("the number of a ") : "", form);
    if (field->low < field->high)
        print_range(",", field->low, field->high, NULL, stream);
    if (field->choices)
        fprintf(stream, ": %s", field->choices);
    fprintf(stream, "%s%s\n", field->help ? " - " : "", field->help ? dw_said(field->help) : "");
}

char *dw_help_procedure_usage(const DwProcedure *procedure)
{
    const char *word = dw_procedure_takes_word(procedure), *more = procedure->recordings_most > 1 ? " …" : "";
    char recording[24] = "";
    if (procedure->recordings_most)
        snprintf(recording, sizeof recording, procedure->recordings_least ? " %s" : " [%s]", word);
    return dw_text_format("%s%s%s%s [key=value …] [--deck FILE] [--json] [--chart FILE]%s [--job NUMBER --as PHASE]",
                          procedure->name, recording, *recording ? more : "", procedure->bare_word ? " [WORD]" : "",
                          procedure->print ? " [--out FILE.pdf]" : "");
}

void dw_print_procedure_help(const DwProcedure *procedure, FILE *stream)
{
    char *usage = dw_help_procedure_usage(procedure);
    dw_tell(stream, "deckwright %s\n\n%s\n\n", usage, dw_said(procedure->summary));
    for (size_t i = 0; procedure->quantities[i]; i++)
        dw_help_quantity(dw_quantity_find(procedure->quantities[i]), stream);
    dw_tell(stream, "\n  What stands in [ ] behind a key is taken where nothing is given.\n\n");
    dw_help_options(NULL, NULL, stream);
    free(usage);
}

static void print_procedure_options(FILE *stream)
{
    dw_tell(stream, "Options\n"
                    "  --deck FILE              take operands from a key file; may repeat\n"
                    "  --json                   print the sheet as JSON\n"
                    "  --chart FILE             draw the sheet: .svg, .png or .pdf\n"
                    "  --job NUMBER             keep the sheet on a job, and take from its book what is not given\n"
                    "  --as PHASE               received, during or left: when it was taken; with --job\n"
                    "  --book FOLDER            the job book, else DECKWRIGHT_BOOK, else the user's own; with --job\n"
                    "  --by NAME                who measured, else the user's name; with --job\n");
}

void dw_help_options(const DwCommand *command, const DwVerb *verb, FILE *stream)
{
    bool json = verb && verb->json, writes = verb && verb->writes, asks = verb && verb->asks;
    if (!command) {
        print_procedure_options(stream);
        return;
    }
    for (const DwVerb *any = verb ? NULL : command->verbs(); any && any->name; any++) {
        json = json || any->json;
        writes = writes || any->writes;
        asks = asks || any->asks;
    }
    dw_tell(stream, "Options\n"
                    "  --book FOLDER            the job book, else DECKWRIGHT_BOOK, else the user's own\n"
                    "  --by NAME                who acts, for the journal, else the user's name\n");
    if (json)
        dw_tell(stream, "  --json                   print it as JSON\n");
    if (asks)
        dw_tell(stream, "  --sure                   do it though the book speaks against it\n");
    if (writes)
        dw_tell(stream, "  --out FILE               where to write\n"
                        "  --paper a4|letter        the paper's size\n"
                        "  --words FILE             the papers' texts, edited\n");
}

static void print_fields(const DwEntity *entity, FILE *stream)
{
    for (size_t i = 0; i < entity->field_count; i++)
        if (!entity->fields[i].kept)
            dw_help_field(&entity->fields[i], stream);
}

static void print_verb(const DwCommand *command, const DwVerb *verb, FILE *stream)
{
    dw_tell(stream, "  deckwright %s %s%s%s\n      %s\n", command->name, verb->name, *verb->usage ? " " : "",
            verb->usage, dw_said(verb->summary));
}

static void print_own(const DwCommand *command, FILE *stream)
{
    if (command->own) {
        dw_tell(stream, "\nKeys of a %s\n", command->own->name);
        print_fields(command->own, stream);
    }
}

static void print_kinds(const DwCommand *command, FILE *stream)
{
    const DwEntity *kind;
    if (!command->kind_at)
        return;
    dw_tell(stream, "\nKinds, whose keys 'deckwright help %s KIND' lists\n", command->name);
    for (size_t i = 0; (kind = command->kind_at(i)); i++)
        fprintf(stream, "  %-22s %s\n", kind->name, dw_said(kind->label));
}

static void print_section(const DwCommand *command, FILE *stream)
{
    const DwQuantity *quantity;
    size_t length = strlen(command->section);
    dw_tell(stream,
            "\nKeys of its own; it takes those that describe a deck and a record too ('deckwright help quantities')\n");
    for (size_t i = 0; (quantity = dw_quantity_at(i)); i++)
        if (strncmp(quantity->key, command->section, length) == 0 && quantity->key[length] == '.')
            dw_help_quantity(quantity, stream);
}

void dw_help_command(const DwCommand *command, FILE *stream)
{
    if (!command->verbs) {
        dw_tell(stream, "deckwright %s\n\n%s\n", command->usage, dw_said(command->summary));
        if (command->detail)
            fprintf(stream, "\n%s", dw_said(command->detail));
        if (command->section)
            print_section(command, stream);
        return;
    }
    fprintf(stream, "%s\n\n", dw_said(command->summary));
    for (const DwVerb *verb = command->verbs(); verb->name; verb++)
        print_verb(command, verb, stream);
    if (command->usual)
        dw_tell(stream, "\n  'deckwright %s' alone is 'deckwright %s %s'.\n", command->name, command->name,
                command->usual);
    dw_tell(stream, "  What stands in [ ] may be left out; a key with = is typed as key=value.\n");
    print_own(command, stream);
    print_kinds(command, stream);
    fputs("\n", stream);
    dw_help_options(command, NULL, stream);
}

void dw_help_kind(const DwEntity *kind, FILE *stream)
{
    dw_tell(stream, "%s: the keys of this kind of entry\n\n", kind->name);
    print_fields(kind, stream);
}

void dw_help_verb(const DwCommand *command, const DwVerb *verb, FILE *stream)
{
    print_verb(command, verb, stream);
    if (strstr(verb->usage, "KIND"))
        print_kinds(command, stream);
    else if (strstr(verb->usage, "key=value"))
        print_own(command, stream);
    fputs("\n", stream);
    dw_help_options(command, verb, stream);
}
