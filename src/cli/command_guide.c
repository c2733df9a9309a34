// SPDX-License-Identifier: MIT
// guide: from complaint to cause by the test that is worth its time.
#include "base/memory.h"
#include "base/sheet_json.h"
#include "base/small_file.h"
#include "base/text.h"
#include "cli/book_call.h"
#include "cli/guide_call.h"
#include "cli/options.h"
#include "cli/help.h"
#include "procedure/job/job_guide.h"
#include "procedure/job/job_sheet.h"
#include "procedure/registry/data_table.h"

#include "guide/guide_words.h"
#include "cli/tell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { SHEET_BYTES_MOST = 64 << 20 };

// --- what the files say -------------------------------------------------------

static int check(void)
{
    DwGuideKnowledge knowledge;
    DwGuideTroubles troubles = {0};
    DwMessage message = {""};
    char *folder = dw_text_format("%s/guide", dw_data_folder());
    DwStatus status = dw_guide_knowledge_read(folder, &knowledge, &troubles, &message);
    for (size_t i = 0; i < troubles.count; i++)
        printf("%s\n", troubles.lines[i]);
    int exit_status = status != DW_OK  ? dw_complain(status, &message)
                      : troubles.count ? DW_EXIT_BAD_INPUT
                                       : DW_EXIT_MEASURED;
    if (exit_status == DW_EXIT_MEASURED)
        dw_tell(stdout,
                "%zu faults, %zu symptoms, %zu findings, %zu tests, %zu remedies; nothing is wrong with them.\n",
                knowledge.fault_count, knowledge.symptom_count, knowledge.sign_count - knowledge.symptom_count,
                knowledge.test_count, knowledge.remedy_count);
    dw_guide_knowledge_clear(&knowledge);
    dw_guide_troubles_clear(&troubles);
    free(folder);
    return exit_status;
}

static void list_signs(const DwGuideKnowledge *knowledge, bool symptoms)
{
    size_t first = symptoms ? 0 : knowledge->symptom_count;
    size_t last = symptoms ? knowledge->symptom_count : knowledge->sign_count;
    for (size_t i = first; i < last; i++)
        printf("%s.%-22s %s\n", symptoms ? "symptom" : "finding", knowledge->signs[i].key, knowledge->signs[i].ask);
}

static void list_faults(const DwGuideKnowledge *knowledge)
{
    for (size_t i = 0; i < knowledge->fault_count; i++)
        printf("%-22s %-12s %s\n", knowledge->faults[i].key, knowledge->faults[i].area, knowledge->faults[i].name);
}

static void list_tests(const DwGuideKnowledge *knowledge)
{
    for (size_t i = 0; i < knowledge->test_count; i++) {
        const DwGuideTest *test = &knowledge->tests[i];
        dw_tell(stdout, "test.%-22s %3g min, risk %s: %s\n", test->key, test->minutes, test->risk_word, test->name);
        for (size_t k = 0; k < test->sign_count; k++)
            dw_tell(stdout, "    finding.%s\n", knowledge->signs[test->signs[k]].key);
    }
}

static int list(const DwGuideCall *call)
{
    const char *what = call->word_count > 1 ? call->words[1] : "all";
    bool all = strcmp(what, "all") == 0, any = all;
    if (all || strcmp(what, "symptoms") == 0)
        any = (list_signs(call->knowledge, true), true);
    if (all || strcmp(what, "findings") == 0)
        any = (list_signs(call->knowledge, false), true);
    if (all || strcmp(what, "faults") == 0)
        any = (list_faults(call->knowledge), true);
    if (all || strcmp(what, "tests") == 0)
        any = (list_tests(call->knowledge), true);
    return any ? DW_EXIT_MEASURED
               : dw_complain(DW_BAD_INPUT, &(DwMessage){"guide list takes symptoms, findings, faults or tests."});
}

// --- the case -----------------------------------------------------------------

static DwStatus take_file(DwGuideCall *call, const char *path, DwMessage *message)
{
    char *text = NULL;
    size_t length;
    DwSheet *sheet = NULL;
    DwMessage why;
    DwStatus status = dw_small_file_read(path, SHEET_BYTES_MOST, &text, &length, message);
    if (status != DW_OK)
        return status;
    status = dw_sheet_json_read(text, &sheet, &why);
    if (status != DW_OK)
        dw_fail(message, status, "%s: %s", path, why.text);
    else
        dw_guide_case_take_sheet(&call->guide_case, sheet);
    dw_sheet_free(sheet);
    free(text);
    return status;
}

static bool is_sheet(const char *word)
{
    size_t length = strlen(word);
    return length > 5 && strcmp(word + length - 5, ".json") == 0;
}

static DwStatus take_words(DwGuideCall *call, DwMessage *message)
{
    DwStatus status = DW_OK;
    DwText complaint = {0};
    for (size_t i = 0; status == DW_OK && i < call->word_count; i++) {
        const char *word = call->words[i];
        if (is_sheet(word))
            status = take_file(call, word, message);
        else if (strchr(word, '='))
            status = dw_guide_case_set(&call->guide_case, word, message);
        else
            dw_text_add(&complaint, "%s%s", complaint.length ? " " : "", word);
        call->answered = true;
    }
    if (status == DW_OK && complaint.length)
        status =
            dw_guide_case_say(&call->guide_case, complaint.chars, message); // the bare words together are the owner's
    dw_text_clear(&complaint);
    return status;
}

// Opens the call's book and its job with all that it says; *BOOK and JOB are the caller's to close, whatever the
// status.
static DwStatus open_job(DwGuideCall *call, DwBook **book, DwJob *job, DwMessage *message)
{
    *book = NULL;
    dw_record_init(&job->record, &dw_job_entity);
    DwStatus status = dw_book_call_open(call->book, call->by, book, message);
    if (status == DW_OK)
        status = dw_job_find(*book, call->job, job, message);
    return status == DW_OK ? dw_job_guide_take(*book, job, &call->guide_case, message) : status;
}

static DwStatus take_job(DwGuideCall *call, DwMessage *message)
{
    DwBook *book;
    DwJob job;
    DwStatus status = open_job(call, &book, &job, message);
    dw_record_clear(&job.record);
    dw_book_close(book);
    return status;
}

// What stands of each sign, as dw_guide_case_word() says it, and last of the drive. The caller frees it with
// free_words().
static char **words_of(const DwGuideCase *guide_case)
{
    size_t signs = guide_case->knowledge->sign_count;
    char **words = dw_memory_new(signs + 1, sizeof *words);
    for (size_t i = 0; i < signs; i++)
        words[i] = dw_guide_case_word(guide_case, i);
    words[signs] =
        dw_memory_text(guide_case->drive_turn ? dw_guide_drive_word(guide_case) : dw_guide_answer_word(DW_GUIDE_OPEN));
    return words;
}

static void free_words(const DwGuideCase *guide_case, char **words)
{
    for (size_t i = 0; words && i <= guide_case->knowledge->sign_count; i++)
        free(words[i]);
    free(words);
}

// Takes over into CALL's case what stands in SAID and did not BEFORE, in the order of the answers.
static void take_talk(DwGuideCall *call, const DwGuideCase *said, char **before)
{
    DwMessage message;
    size_t drive = call->knowledge->sign_count;
    char **after = words_of(said), *operand = dw_text_format("drive.kind=%s", after[drive]);
    for (unsigned turn = 0; turn <= said->turns; turn++) { // 0: those taken back
        for (size_t i = 0; i < call->knowledge->sign_count; i++)
            if (said->evidence[i].turn == turn && strcmp(before[i], after[i]) != 0)
                dw_guide_case_take_word(&call->guide_case, i, after[i]);
        if (said->drive_turn == turn && strcmp(before[drive], after[drive]) != 0)
            dw_guide_case_set(&call->guide_case, operand, &message);
    }
    free(operand);
    free_words(said, after);
}

// Weighs the case and makes its sheet, minutes and all; with the job's BOOK also where the parts come from.
static DwStatus make_sheet(DwGuideCall *call, DwBook *book, const DwJob *job, DwSheet **sheet, DwMessage *message)
{
    DwGuideReasons reasons;
    DwGuideWorks works;
    dw_guide_reason(&call->guide_case, &reasons);
    dw_guide_work(&call->guide_case, &reasons, &works);
    DwStatus status = dw_job_guide_minutes(&call->guide_case, &works, message);
    if (status == DW_OK)
        *sheet = dw_guide_sheet(&call->guide_case, &reasons, &works);
    if (status == DW_OK && book)
        status = dw_job_guide_parts(book, job, call->knowledge, &works, *sheet, message);
    dw_guide_reasons_clear(&reasons);
    free(works.works);
    return status;
}

static int show(const DwSheet *sheet, bool json)
{
    if (json) {
        char *text = dw_sheet_json_write(sheet);
        puts(text);
        free(text);
    } else
        dw_print_sheet(sheet, stdout);
    return DW_EXIT_MEASURED;
}

// Puts what was said in this call to the job as it stands now and keeps the sheet that this makes, as one change: what
// others answered during a talk is not lost. BEFORE: what stood when the talk began, or NULL where there was none.
static DwStatus weigh_and_keep(DwGuideCall *call, DwBook *book, char **before, DwSheet **sheet, DwMessage *message)
{
    DwGuideCase said = call->guide_case;
    DwJob job;
    DwPhase phase = DW_PHASE_NONE;
    int64_t id = 0;
    dw_guide_case_init(&call->guide_case, call->knowledge);
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_job_sheet_phase(call->as ? call->as : "during", &phase, message);
    if (status == DW_OK)
        status = dw_job_find(book, call->job, &job, message);
    if (status == DW_OK)
        status = dw_job_guide_take(book, &job, &call->guide_case, message);
    if (status == DW_OK)
        status = take_words(call, message);
    if (status == DW_OK && before)
        take_talk(call, &said, before);
    if (status == DW_OK)
        status = make_sheet(call, book, &job, sheet, message);
    if (status == DW_OK)
        status = dw_job_sheet_keep(book, call->job, phase, *sheet, &id, message);
    if (status == DW_OK) // said on what is printed alone: what is kept knows where it is
        dw_sheet_remark(*sheet, "Kept on job %04lld, measurement id %lld.", (long long)job.number, (long long)id);
    dw_record_clear(&job.record);
    dw_guide_case_clear(&said);
    return status;
}

static DwStatus keep(DwGuideCall *call, char **before, DwSheet **sheet, DwMessage *message)
{
    DwBook *book = NULL;
    DwStatus status = dw_book_call_open(call->book, call->by, &book, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status == DW_OK)
        status = dw_book_end(book, weigh_and_keep(call, book, before, sheet, message), message);
    dw_book_close(book);
    return status;
}

// The sheet of a job that nothing was added to.
static DwStatus show_job(DwGuideCall *call, DwSheet **sheet, DwMessage *message)
{
    DwBook *book;
    DwJob job;
    dw_guide_case_clear(&call->guide_case);
    dw_guide_case_init(&call->guide_case, call->knowledge);
    DwStatus status = open_job(call, &book, &job, message);
    if (status == DW_OK)
        status = make_sheet(call, book, &job, sheet, message);
    dw_record_clear(&job.record);
    dw_book_close(book);
    return status;
}

static int weigh(DwGuideCall *call)
{
    DwMessage message = {""};
    DwSheet *sheet = NULL;
    char **before = NULL;
    bool talk = call->ask || (!call->word_count && !call->json && isatty(STDIN_FILENO) && isatty(STDOUT_FILENO));
    DwStatus status = call->job ? take_job(call, &message) : DW_OK;
    if (status == DW_OK)
        status = take_words(call, &message);
    if (status == DW_OK && talk) {
        before = words_of(&call->guide_case);
        dw_guide_call_talk(call, stdin, stdout);
    }
    if (status == DW_OK)
        status = call->job && call->answered ? keep(call, before, &sheet, &message)
                 : call->job                 ? show_job(call, &sheet, &message)
                                             : make_sheet(call, NULL, NULL, &sheet, &message);
    free_words(&call->guide_case, before);
    int exit_status = status == DW_OK ? show(sheet, call->json) : dw_complain(status, &message);
    dw_sheet_free(sheet);
    return exit_status;
}

// The path of the job, or of what is said in the call.
static int path(DwGuideCall *call)
{
    DwMessage message = {""};
    DwGuideReasons reasons;
    DwStatus status = call->job ? take_job(call, &message) : DW_OK;
    call->words++; // without the verb
    call->word_count--;
    if (status == DW_OK)
        status = take_words(call, &message);
    call->words--;
    if (status == DW_OK && !dw_guide_path_any(&call->guide_case))
        status = dw_fail(
            &message, DW_BAD_INPUT,
            "Nothing was asked yet. Answer the guide's questions first, or give answers, as in symptom.hum=yes.");
    if (status != DW_OK)
        return dw_complain(status, &message);
    dw_guide_reason(&call->guide_case, &reasons);
    DwSheet *sheet = dw_guide_path_sheet(&call->guide_case, &reasons, call->plain);
    dw_guide_reasons_clear(&reasons);
    int exit_status = show(sheet, call->json);
    dw_sheet_free(sheet);
    return exit_status;
}

// The work plan for faults that are named.
static DwStatus read_plan(DwGuideCall *call, size_t *faults, size_t *count, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 1; status == DW_OK && i < call->word_count; i++) {
        int fault = dw_guide_fault_find(call->knowledge, call->words[i]);
        if (strchr(call->words[i], '='))
            status = dw_guide_case_set(&call->guide_case, call->words[i], message);
        else if (fault < 0)
            status = dw_fail(message, DW_BAD_INPUT,
                             "There is no fault '%s'. 'deckwright guide list faults' shows them.", call->words[i]);
        else
            faults[(*count)++] = (size_t)fault;
    }
    if (status == DW_OK && !*count)
        status = dw_fail(message, DW_BAD_INPUT,
                         "guide plan needs faults: deckwright guide plan belt_stretched bearing_dry drive.kind=belt");
    return status;
}

static DwStatus add_job_parts(DwGuideCall *call, const DwGuideWorks *works, DwSheet *sheet, DwMessage *message)
{
    DwBook *book = NULL;
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = dw_book_call_open(call->book, call->by, &book, message);
    if (status == DW_OK)
        status = dw_job_find(book, call->job, &job, message);
    if (status == DW_OK)
        status = dw_job_guide_parts(book, &job, call->knowledge, works, sheet, message);
    dw_record_clear(&job.record);
    dw_book_close(book);
    return status;
}

static int plan(DwGuideCall *call)
{
    DwMessage message = {""};
    size_t *faults = dw_memory_new(call->word_count, sizeof *faults), count = 0;
    DwGuideWorks works = {0};
    DwSheet *sheet = NULL;
    DwStatus status = call->job ? take_job(call, &message) : DW_OK;
    if (status == DW_OK)
        status = read_plan(call, faults, &count, &message);
    if (status == DW_OK) {
        dw_guide_work_for(call->knowledge, faults, count, &works);
        status = dw_job_guide_minutes(&call->guide_case, &works, &message);
    }
    if (status == DW_OK)
        sheet = dw_guide_plan_sheet(call->knowledge, &works);
    if (status == DW_OK && call->job)
        status = add_job_parts(call, &works, sheet, &message);
    int exit_status = status == DW_OK ? show(sheet, call->json) : dw_complain(status, &message);
    dw_sheet_free(sheet);
    free(works.works);
    free(faults);
    return exit_status;
}

// --- into the estimate ---------------------------------------------------------

static int confirm(DwGuideCall *call)
{
    DwMessage message = {""};
    DwBook *book;
    DwJob job;
    if (!call->job || call->word_count != 2)
        return dw_complain(DW_BAD_INPUT, &(DwMessage){"guide confirm wants a fault and a job: deckwright guide confirm "
                                                      "belt_stretched --job 12"});
    bool added = false;
    DwStatus status = open_job(call, &book, &job, &message);
    if (status == DW_OK)
        status = dw_job_guide_confirm(book, &job, &call->guide_case, call->words[1], &added, &message);
    if (status == DW_OK)
        dw_tell(stdout, "%s of job %04lld: %s\n",
                added ? dw_said("Kept as a finding") : dw_said("It stands already as a finding"), (long long)job.number,
                call->knowledge->faults[dw_guide_fault_find(call->knowledge, call->words[1])].name);
    dw_record_clear(&job.record);
    dw_book_close(book);
    return status == DW_OK ? DW_EXIT_MEASURED : dw_complain(status, &message);
}

static DwStatus put_into_estimate(DwGuideCall *call, int64_t *version, size_t *added, DwMessage *message)
{
    DwBook *book;
    DwJob job;
    DwGuideReasons reasons;
    DwGuideWorks works;
    DwStatus status = open_job(call, &book, &job, message);
    dw_guide_reason(&call->guide_case, &reasons);
    dw_guide_work(&call->guide_case, &reasons, &works);
    if (status == DW_OK)
        status = dw_job_guide_minutes(&call->guide_case, &works, message);
    if (status == DW_OK)
        status = dw_job_guide_estimate(book, &job, call->knowledge, &works, version, added, message);
    free(works.works);
    dw_guide_reasons_clear(&reasons);
    dw_record_clear(&job.record);
    dw_book_close(book);
    return status;
}

static int estimate(DwGuideCall *call)
{
    DwMessage message = {""};
    int64_t version = 0;
    size_t added = 0;
    if (!call->job || call->word_count > 1)
        return dw_complain(DW_BAD_INPUT,
                           &(DwMessage){"guide estimate wants a job: deckwright guide estimate --job 12"});
    DwStatus status = put_into_estimate(call, &version, &added, &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    if (added)
        dw_tell(stdout, "%zu line%s added to version %lld of the estimate. Put in the prices of the parts.\n", added,
                added == 1 ? "" : "s", (long long)version);
    else
        dw_tell(stdout, "Nothing was added: version %lld of the estimate holds these works already.\n",
                (long long)version);
    return DW_EXIT_MEASURED;
}

// --- practice -----------------------------------------------------------------

static int practise(DwGuideCall *call)
{
    DwMessage message = {""};
    DwStatus status = DW_OK;
    double seed = 0; // whole, up to 2^53
    for (size_t i = 1; status == DW_OK && i < call->word_count; i++) {
        const char *word = call->words[i];
        bool is_seed = strncmp(word, "seed=", 5) == 0;
        const char *after = is_seed ? dw_text_number(word + 5, &seed) : NULL;
        if (is_seed && (!after || *after || !(seed >= 1) || seed > 1e15 || seed != floor(seed)))
            status = dw_fail(&message, DW_BAD_INPUT, "seed: '%s' is no whole number from 1.", word + 5);
        else if (!is_seed)
            status = dw_guide_case_set(&call->guide_case, word, &message);
    }
    return status == DW_OK ? dw_guide_call_practise(call, (uint64_t)seed, call->out, stdin, stdout)
                           : dw_complain(status, &message);
}

// --- the command --------------------------------------------------------------

static int recheck(const DwGuideCall *call)
{
    DwMessage message = {""};
    DwSheet *sheet = NULL;
    DwText what = {0};
    for (size_t i = 1; i < call->word_count; i++)
        dw_text_add(&what, "%s%s", i > 1 ? " " : "", call->words[i]);
    DwStatus status = what.length
                          ? dw_guide_recheck(what.chars, &sheet, &message)
                          : dw_fail(&message, DW_BAD_INPUT,
                                    "guide recheck needs what was changed: deckwright guide recheck arm height");
    dw_text_clear(&what);
    int exit_status = status == DW_OK ? show(sheet, call->json) : dw_complain(status, &message);
    dw_sheet_free(sheet);
    return exit_status;
}

static const char detail[] =
    "  symptom.KEY=yes|no|unknown   what is complained of ('guide list symptoms')\n"
    "  symptom.KEY=asked            the same where the owner said it only when asked: it weighs less\n"
    "  finding.KEY=yes|no|unknown   what a test showed ('guide list findings')\n"
    "  finding.KEY=no,yes           what it showed first, and when it was looked at again\n"
    "  drive.kind=belt|idler|direct|unknown, deck.age=YEARS\n"
    "  deck.automatic, deck.changer, deck.suspended, deck.linear = yes|no|unknown\n"
    "  shop.own=no                  leaves out what this shop found on its own decks\n"
    "  SHEET.json                   a sheet of any procedure (--json): what it measured counts as its ± "
    "allows\n"
    "  \"WORDS\"                      the owner's words, as in \"sounds slow and hums\"\n"
    "  An answer left out is open; 'unknown' says that it was asked and could not be told, 'open' takes it "
    "back.\n\n"
    "  --ask         ask one thing after the other (also without operands, on a terminal): y, n, ? for unknown,\n"
    "                b to take the last answer back, q to stop\n"
    "  --json        as JSON: tables guide.causes (odds in %), guide.next (what to try, best first),\n"
    "                guide.questions (what to answer for the first of them), guide.work, guide.lubricants,\n"
    "                guide.answers; reading guide.standing: nothing said, asking, clear, cannot tell\n"
    "  --job NUMBER  takes the job's deck, sheets and earlier answers, and keeps the path there\n\n"
    "  guide check            looks over the files in data/guide\n"
    "  guide list [WHAT]      symptoms, findings, faults or tests\n"
    "  guide plan FAULT … [--job NUMBER]  the work plan for faults that are found ('guide list faults'); with a job, "
    "which "
    "parts\n                         lie on the shelf\n"
    "  guide path --job NUMBER [--plain]  what was asked, what was answered and what each answer weighs; --plain as an "
    "owner\n                         reads it\n"
    "  guide confirm FAULT --job NUMBER  keeps that it was this as a finding; the shop's experience counts it\n"
    "  guide estimate --job NUMBER   puts the job's work plan into its estimate\n"
    "  guide practise [drive.kind=…] [seed=N] [--out FILE.wav]   a deck with a hidden fault to learn by; a test "
    "that\n"
    "                         listens writes what is heard to FILE.wav\n"
    "  guide recheck SETTING  what to look at again after a change, and why\n";

static DwStatus read_call(int count, char **arguments, DwGuideCall *call, DwMessage *message)
{
    const DwOption options[] = {
        {"json", NULL, &call->json, NULL},   {"help", NULL, &call->help, NULL},
        {"ask", NULL, &call->ask, NULL},     {"job", &call->job, NULL, NULL},
        {"as", &call->as, NULL, NULL},       {"book", &call->book, NULL, NULL},
        {"by", &call->by, NULL, NULL},       {"out", &call->out, NULL, NULL},
        {"plain", NULL, &call->plain, NULL}, {0},
    };
    DwOptionWords words = {.words = call->words};
    DwStatus status = dw_options_read(count, arguments, options,
                                      "--ask, --json, --job, --as, --out, --plain, --book and --by", &words, message);
    call->word_count = words.count;
    return status;
}

static int run(int count, char **arguments)
{
    DwMessage message = {""};
    DwGuideCall call = {.words = dw_memory_new((size_t)count + 1, sizeof(char *))};
    DwStatus status = read_call(count, arguments, &call, &message);
    const char *verb = call.word_count ? call.words[0] : "";
    int exit_status = DW_EXIT_MEASURED;
    bool knows = status == DW_OK && !call.help && strcmp(verb, "check") != 0 && strcmp(verb, "recheck") != 0;
    if (knows)
        status = dw_job_guide_knowledge(&call.knowledge, &message);
    if (knows && status == DW_OK)
        dw_guide_case_init(&call.guide_case, call.knowledge);
    if (status != DW_OK)
        exit_status = dw_complain(status, &message);
    else if (call.help)
        dw_help_command(&dw_command_guide, stdout);
    else if (strcmp(verb, "check") == 0)
        exit_status = check();
    else if (strcmp(verb, "recheck") == 0)
        exit_status = recheck(&call);
    else if (strcmp(verb, "plan") == 0)
        exit_status = plan(&call);
    else if (strcmp(verb, "path") == 0)
        exit_status = path(&call);
    else if (strcmp(verb, "practise") == 0)
        exit_status = practise(&call);
    else if (strcmp(verb, "confirm") == 0)
        exit_status = confirm(&call);
    else if (strcmp(verb, "estimate") == 0)
        exit_status = estimate(&call);
    else if (strcmp(verb, "list") == 0)
        exit_status = list(&call);
    else
        exit_status = weigh(&call);
    dw_guide_case_clear(&call.guide_case);
    dw_job_guide_done(call.knowledge);
    free(call.words);
    return exit_status;
}

const DwCommand dw_command_guide = {
    .name = "guide",
    .usage = "guide [symptom.KEY=yes|no|unknown …] [finding.KEY=… …] [SHEET.json …] [\"WORDS\"] [--job NUMBER] [--ask] "
             "[--json]",
    .summary = "From complaint to cause: odds, reasons, the test worth its time, a work plan.",
    .run = run,
    .detail = detail,
};
