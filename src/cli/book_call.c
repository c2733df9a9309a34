// SPDX-License-Identifier: MIT
#include "cli/book_call.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/money/invoice.h"
#include "cli/help.h"
#include "cli/options.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>

// Where the book is when nobody says: a folder of the user's own data.
static char *usual_folder(void)
{
    const char *said = getenv("DECKWRIGHT_BOOK"), *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    if (said && *said)
        return dw_memory_text(said);
    if (data && *data)
        return dw_text_format("%s/deckwright-book", data);
    return dw_text_format("%s/deckwright-book", home ? home : ".");
}

DwStatus dw_book_call_open(const char *folder, const char *actor, DwBook **book, DwMessage *message)
{
    char *usual = folder ? NULL : usual_folder();
    const char *where = folder ? folder : usual;
    bool found;
    DwStatus status = dw_book_find(where, &found, message);
    if (status == DW_OK && !found)
        status = dw_fail(message, DW_BAD_INPUT, "There is no job book in %s. 'deckwright book new' starts one there.",
                         where);
    if (status == DW_OK)
        status = dw_book_open(where, book, message);
    if (!actor)
        actor = getenv("USER");
    if (status == DW_OK && actor && *actor)
        dw_book_set_actor(*book, actor);
    free(usual);
    return status;
}

// Two operands of one key would leave open which is meant.
static DwStatus take_operand(DwBookCall *call, const char *operand, DwMessage *message)
{
    size_t length = strcspn(operand, "=") + 1;
    for (size_t i = 0; i < call->operand_count; i++)
        if (strncmp(call->operands[i], operand, length) == 0)
            return dw_fail(message, DW_BAD_INPUT, "%.*s is given twice: %s and %s. Keep one.", (int)length - 1, operand,
                           call->operands[i], operand);
    call->operands[call->operand_count++] = operand;
    return DW_OK;
}

// The options that VERB takes, for a refusal.
static const char *options_of(const DwVerb *verb)
{
    return verb->writes ? "--book, --by, --out, --paper and --words"
           : verb->asks ? "--book, --by, --json and --sure"
                        : "--book, --by and --json";
}

static DwStatus part(int count, char **arguments, const DwVerb *verb, DwBookCall *call, const char **actor,
                     DwMessage *message)
{
    bool writes = verb->writes;
    DwOption options[] = {
        {"json", NULL, &call->json, NULL},
        {"book", &call->folder, NULL, NULL},
        {"by", actor, NULL, NULL},
        // A verb that neither writes a file nor asks ends the table here.
        {writes       ? "out"
         : verb->asks ? "sure"
                      : NULL,
         writes ? &call->out : NULL, &call->sure, NULL},
        {writes ? "paper" : NULL, &call->paper, NULL, NULL},
        {"words", &call->texts, NULL, NULL},
        {0},
    };
    DwOptionWords read = {.words = dw_memory_new((size_t)count, sizeof(char *))};
    DwStatus status = dw_options_read(count, arguments, options, options_of(verb), &read, message);
    for (size_t i = 0; i < read.count && status == DW_OK; i++) {
        const char *word = read.words[i];
        if (i < read.only && strchr(word, '=') && word[0] != '/' && word[0] != '.')
            status = take_operand(call, word, message);
        else
            call->words[call->word_count++] = word;
    }
    free(read.words);
    return status;
}

static DwStatus run_verb(const DwCommand *command, const DwVerb *verb, int count, char **arguments, DwBookCall *call,
                         DwMessage *message)
{
    const char *actor = NULL;
    DwStatus status = part(count, arguments, verb, call, &actor, message);
    if (status == DW_OK && (call->word_count < verb->words_least || call->word_count > verb->words_most))
        status =
            dw_fail(message, DW_BAD_INPUT, "The call is: deckwright %s %s %s", command->name, verb->name, verb->usage);
    if (status == DW_OK && !call->folder)
        call->folder = call->found_folder = usual_folder();
    if (status == DW_OK && call->operand_count && !verb->operands)
        status = dw_fail(message, DW_BAD_INPUT, "%s %s takes no '%s'.", command->name, verb->name, call->operands[0]);
    if (status == DW_OK && call->json && !verb->json)
        status = dw_fail(message, DW_BAD_INPUT, "%s %s writes no JSON.", command->name, verb->name);
    if (status == DW_OK && !verb->makes)
        status = dw_book_call_open(call->folder, actor, &call->book, message);
    return status == DW_OK ? verb->run(call, message) : status;
}

static int refuse_verb(const DwCommand *command, const char *name)
{
    const char *nearest = NULL;
    size_t least = strlen(name) / 2 + 1;
    for (const DwVerb *verb = command->verbs(); verb->name; verb++)
        if (dw_text_distance(name, verb->name) < least) {
            nearest = verb->name;
            least = dw_text_distance(name, nearest);
        }
    DwMessage message;
    if (nearest)
        dw_fail(&message, DW_BAD_INPUT, "%s cannot '%s'. Did you mean %s %s?", command->name, name, command->name,
                nearest);
    else
        dw_fail(&message, DW_BAD_INPUT, "%s cannot '%s'. 'deckwright %s --help' lists what it can.", command->name,
                name, command->name);
    return dw_complain(DW_BAD_INPUT, &message);
}

static bool asks_for_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0;
}

// What is done for VERB, from its name in ARGUMENTS on.
static int call_verb(const DwCommand *command, const DwVerb *verb, int count, char **arguments)
{
    DwMessage message = {""};
    DwBookCall call = {.words = dw_memory_new((size_t)count, sizeof(char *)),
                       .operands = dw_memory_new((size_t)count, sizeof(char *)),
                       .argument_count = count,
                       .arguments = arguments};
    DwStatus status = run_verb(command, verb, count - 1, arguments + 1, &call, &message);
    if (status == DW_OK && call.book && dw_book_fixed(call.book))
        dw_tell(stderr, "deckwright: %s\n", dw_book_fixed(call.book));
    dw_book_close(call.book);
    free(call.words);
    free(call.operands);
    free(call.found_folder);
    free(call.made);
    if (status != DW_OK)
        return dw_complain(status, &message);
    return call.flagged ? DW_EXIT_FLAGGED : DW_EXIT_MEASURED;
}

// The usual verb of COMMAND, on ARGUMENTS that name none.
static int call_usual(const DwCommand *command, int count, char **arguments)
{
    char **all = dw_memory_new((size_t)count + 1, sizeof *all);
    all[0] = (char *)command->usual;
    for (int i = 0; i < count; i++)
        all[i + 1] = arguments[i];
    int status = call_verb(command, dw_verb_find(command, command->usual), count + 1, all);
    free(all);
    return status;
}

int dw_book_call_run(const DwCommand *command, int count, char **arguments)
{
    const char *name = count ? arguments[0] : "";
    if (asks_for_help(name)) {
        dw_help_command(command, stdout);
        return DW_EXIT_MEASURED;
    }
    if (command->usual && (!count || name[0] == '-' || strchr(name, '=')))
        return call_usual(command, count, arguments);
    if (!count) {
        dw_help_command(command, stderr);
        return DW_EXIT_BAD_INPUT;
    }
    const DwVerb *verb = dw_verb_find(command, name);
    if (!verb)
        return refuse_verb(command, name);
    for (int i = 1; i < count && strcmp(arguments[i], "--") != 0; i++)
        if (asks_for_help(arguments[i])) {
            dw_help_verb(command, verb, stdout);
            return DW_EXIT_MEASURED;
        }
    return call_verb(command, verb, count, arguments);
}

// The id of what TYPED refers to by a number of its own: a job, an invoice with its year, an item of stock. *ID stays
// NULL where TYPED is an id already. The caller frees it with free().
static DwStatus read_reference(const DwBookCall *call, const DwField *field, const char *typed, char **id,
                               DwMessage *message)
{
    const char *refers = field && field->kind == DW_FIELD_REFERENCE && *typed ? field->refers : "";
    bool job = strcmp(refers, "job") == 0, invoice = strcmp(refers, "invoice") == 0,
         stock = strcmp(refers, "stock") == 0;
    if (!job && !(invoice && strchr(typed, '-')) && !(stock && strspn(typed, "0123456789") != strlen(typed)))
        return DW_OK;
    const DwEntity *entity = dw_entity_find(refers);
    DwRecord *record = dw_record_new(entity);
    DwStatus status = job       ? dw_job_find(call->book, typed, (DwJob *)record, message)
                      : invoice ? dw_invoice_find(call->book, typed, (DwInvoice *)record, message)
                                : dw_record_find(call->book, record, "number", typed, message);
    if (status == DW_OK)
        *id = dw_text_format("%lld", (long long)record->id);
    dw_record_free(record);
    return status;
}

DwStatus dw_book_call_set(const DwBookCall *call, DwRecord *record, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < call->operand_count && status == DW_OK; i++) {
        const char *equals = strchr(call->operands[i], '=');
        char *key = dw_text_format("%.*s", (int)(equals - call->operands[i]), call->operands[i]);
        char *id = NULL;
        status = read_reference(call, dw_field_find(record->entity, key), equals + 1, &id, message);
        if (status == DW_OK)
            status = dw_record_set(call->book, record, key, id ? id : equals + 1, message);
        free(id);
        free(key);
    }
    return status;
}

const char *dw_book_call_operand(const DwBookCall *call, const char *key)
{
    size_t length = strlen(key);
    for (size_t i = 0; i < call->operand_count; i++)
        if (strncmp(call->operands[i], key, length) == 0 && call->operands[i][length] == '=')
            return call->operands[i] + length + 1;
    return NULL;
}

DwStatus dw_book_call_only(const DwBookCall *call, const char *const *keys, DwMessage *message)
{
    for (size_t i = 0; i < call->operand_count; i++) {
        size_t length = strcspn(call->operands[i], "="), k = 0;
        while (keys[k] && (strlen(keys[k]) != length || strncmp(keys[k], call->operands[i], length) != 0))
            k++;
        if (!keys[k])
            return dw_fail(message, DW_BAD_INPUT, "'%.*s' is not used here.", (int)length, call->operands[i]);
    }
    return DW_OK;
}

DwStatus dw_book_call_number(const char *word, int64_t *number, DwMessage *message)
{
    char *end;
    long long value = strtoll(word, &end, 10);
    if (end == word || *end || value < 1)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is not a number of the book.", word);
    *number = value;
    return DW_OK;
}

// TEXT, one of a field's choices, in the reader's words. Takes ownership of TEXT; the caller frees it with free().
static char *chosen(char *text)
{
    char *words = dw_memory_text(text);
    for (char *at = words; *at; at++)
        *at = *at == '_' ? ' ' : *at;
    const char *said = dw_said(words);
    char *kept = said == words ? text : dw_memory_text(said);
    if (kept != text)
        free(text);
    free(words);
    return kept;
}

// TEXT of FIELD as the reader says it. Takes ownership of TEXT; the caller frees it with free().
static char *in_words(const DwField *field, char *text)
{
    switch (field->kind) {
    case DW_FIELD_YES:
    case DW_FIELD_CHOICE:
        return chosen(text);
    case DW_FIELD_REAL:
    case DW_FIELD_AMOUNT:
    case DW_FIELD_RATE:
        return dw_tell_number(text);
    case DW_FIELD_TEXT:
    case DW_FIELD_PATH:
    case DW_FIELD_INTEGER:
    case DW_FIELD_DATE:
    case DW_FIELD_MOMENT:
    case DW_FIELD_REFERENCE:
        return text;
    }
    return text;
}

// What FIELD of RECORD says, with what a reference refers to by its name. The caller frees it with free().
static char *spoken(const DwBookCall *call, const DwRecord *record, const DwField *field)
{
    char *text = dw_record_text(call->book, record, field);
    const DwEntity *refers = field->kind == DW_FIELD_REFERENCE && *text ? dw_entity_find(field->refers) : NULL;
    if (!refers)
        return text;
    DwRecord *other = dw_record_new(refers);
    if (dw_record_load(call->book, other, strtoll(text, NULL, 10), NULL) == DW_OK) {
        char *title = dw_entry_title(call->book, other), *id = text;
        text = refers == &dw_job_entity ? dw_memory_text(title) : dw_text_format("%s (id %s)", title, id);
        free(title);
        free(id);
    }
    dw_record_free(other);
    return text;
}

static bool says_nothing(const DwField *field, const char *text)
{
    bool number = field->kind == DW_FIELD_INTEGER || (field->kind == DW_FIELD_RATE && !strcmp(field->key, "tax_rate"));
    return !*text || (field->kind == DW_FIELD_YES && strcmp(text, "no") == 0) || (number && strcmp(text, "0") == 0);
}

// VALUE after LABEL; what runs over several lines goes on below itself.
static void print_value(const char *label, const char *value, const char *unit)
{
    fputs("  ", stdout);
    dw_tell_padded(stdout, dw_said(label), 26);
    putchar(' ');
    for (const char *at = value; *at; at++)
        if (*at == '\n')
            printf("\n  %-26s ", "");
        else if (*at != '\r')
            putchar(*at);
    printf("%s%s\n", *unit ? " " : "", unit);
}

void dw_book_call_print(const DwBookCall *call, const DwRecord *record)
{
    if (call->json) {
        char *json = dw_record_json_write(call->book, record);
        puts(json);
        free(json);
        return;
    }
    if (record->entity == &dw_job_entity)
        dw_tell(stdout, "job %04lld\n", (long long)((const DwJob *)record)->number);
    else
        dw_tell(stdout, "%s, id %lld\n", dw_said(record->entity->label), (long long)record->id);
    for (size_t i = 0; i < record->entity->field_count; i++) {
        const DwField *field = &record->entity->fields[i];
        bool named = record->entity == &dw_job_entity && strcmp(field->key, "number") == 0;
        char *text = spoken(call, record, field);
        const char *unit = field->kind == DW_FIELD_RATE ? "%" : field->unit ? field->unit : "";
        if (!named && !says_nothing(field, text)) {
            text = in_words(field, text);
            print_value(field->label, text, unit);
        }
        free(text);
    }
}

void dw_book_call_print_fields(const DwEntity *entity)
{
    for (size_t i = 0; i < entity->field_count; i++)
        if (!entity->fields[i].kept)
            dw_help_field(&entity->fields[i], stdout);
}
