// SPDX-License-Identifier: MIT
#include "cli/help.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

enum { JOBS_MOST = 200 };

// The word that is being typed, and where what may stand for it goes.
typedef struct {
    const char *begun;
    FILE *stream;
} Ending;

static void offer(const Ending *ending, const char *before, const char *word, size_t length, const char *after)
{
    char *whole = dw_text_format("%s%.*s%s", before, (int)length, word, after);
    if (strncmp(whole, ending->begun, strlen(ending->begun)) == 0)
        fprintf(ending->stream, "%s\n", whole);
    free(whole);
}

static void offer_word(const Ending *ending, const char *word)
{
    offer(ending, "", word, strlen(word), "");
}

// KEY=CHOICE for each of CHOICES parted by one of PARTED, once the key is typed; else "KEY=".
static void offer_key(const Ending *ending, const char *key, const char *choices, const char *parted)
{
    size_t length = strlen(key);
    bool typed = strncmp(ending->begun, key, length) == 0 && ending->begun[length] == '=';
    if (!typed || !choices) {
        offer(ending, key, "=", 1, "");
        return;
    }
    char *before = dw_text_format("%s=", key);
    for (const char *at = choices; *at;) {
        size_t word = strcspn(at, parted);
        offer(ending, before, at, word, "");
        at += word + (at[word] != '\0');
    }
    free(before);
}

static void offer_quantity(const Ending *ending, const DwQuantity *quantity)
{
    offer_key(ending, quantity->key, quantity->kind == DW_QUANTITY_CHOICE ? quantity->choices : NULL, " ");
}

static void offer_commands(const Ending *ending)
{
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        offer_word(ending, procedure->name);
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        offer_word(ending, command->name);
}

static void offer_fields(const Ending *ending, const DwEntity *entity)
{
    for (size_t i = 0; entity && i < entity->field_count; i++)
        if (!entity->fields[i].kept)
            offer_key(ending, entity->fields[i].key, entity->fields[i].choices, "|");
}

static void offer_kinds(const Ending *ending, const DwCommand *command)
{
    const DwEntity *kind;
    for (size_t i = 0; command->kind_at && (kind = command->kind_at(i)); i++)
        offer_word(ending, kind->name);
}

// The newest jobs of the usual book; nothing where there is none.
static void offer_jobs(const Ending *ending)
{
    DwBook *book = NULL;
    DwMessage message;
    DwRecords jobs = {0};
    DwStatus status = dw_book_call_open(NULL, NULL, &book, &message);
    if (status == DW_OK)
        status = dw_record_newest(book, &dw_job_entity, NULL, 0, JOBS_MOST, &jobs, &message);
    for (size_t i = 0; status == DW_OK && i < jobs.count; i++) {
        char *number = dw_text_format("%04lld", (long long)((const DwJob *)dw_records_at(&jobs, i))->number);
        offer_word(ending, number);
        free(number);
    }
    dw_records_clear(&jobs);
    dw_book_close(book);
}

static void complete_procedure(const Ending *ending, const DwProcedure *procedure, const char *before)
{
    static const char *const options[] = {"--deck", "--json", "--chart", "--job", "--as", "--book", "--by", "--help"};
    static const char *const phases[] = {"received", "during", "left"};
    if (strcmp(before, "--job") == 0) {
        offer_jobs(ending);
        return;
    }
    for (size_t i = 0; strcmp(before, "--as") == 0 && i < sizeof phases / sizeof *phases; i++)
        offer_word(ending, phases[i]);
    for (size_t i = 0; ending->begun[0] == '-' && i < sizeof options / sizeof *options; i++)
        offer_word(ending, options[i]);
    for (size_t i = 0; procedure->quantities[i]; i++)
        offer_quantity(ending, dw_quantity_find(procedure->quantities[i]));
}

static void complete_verb(const Ending *ending, const DwCommand *command, size_t count, char **words)
{
    static const char *const options[] = {"--book", "--by",    "--json",  "--sure",
                                          "--out",  "--paper", "--words", "--help"};
    const DwVerb *verb = count > 2 ? dw_verb_find(command, words[1]) : NULL;
    for (const DwVerb *any = count == 2 ? command->verbs() : NULL; any && any->name; any++)
        offer_word(ending, any->name);
    for (size_t i = 0; ending->begun[0] == '-' && i < sizeof options / sizeof *options; i++)
        offer_word(ending, options[i]);
    if (!verb)
        return;
    if (count == 3 && strncmp(verb->usage, "JOB", 3) == 0)
        offer_jobs(ending);
    const DwEntity *kind = NULL;
    for (size_t i = 2; i + 1 < count && !kind; i++)
        kind = dw_command_kind(command, words[i]);
    if (kind)
        offer_fields(ending, kind);
    else if (strstr(verb->usage, "KIND"))
        offer_kinds(ending, command);
    else if (verb->operands)
        offer_fields(ending, command->own);
}

void dw_help_complete(size_t count, char **words, FILE *stream)
{
    Ending ending = {count ? words[count - 1] : "", stream};
    if (count < 2) {
        offer_commands(&ending);
        return;
    }
    const DwProcedure *procedure = dw_procedure_find(words[0]);
    const DwCommand *command = dw_command_find(words[0]);
    if (procedure)
        complete_procedure(&ending, procedure, words[count - 2]);
    else if (command == &dw_command_help && count == 2)
        offer_commands(&ending);
    else if (command && command->verbs)
        complete_verb(&ending, command, count, words);
    const DwQuantity *quantity;
    for (size_t i = 0; command && command->section && (quantity = dw_quantity_at(i)); i++)
        offer_quantity(&ending, quantity);
}
