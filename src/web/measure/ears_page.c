// SPDX-License-Identifier: MIT
// What a customer can hear of a job: worst and best turn and one passage as received and as left, equally loud; made of
// two recordings that are kept on it, kept on it too, and played here.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "procedure/job/job_sheet.h"
#include "procedure/music/ears.h"
#include "web/job/job_head.h"
#include "web/measure/pages.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PLAYED_MOST = 16 << 20 };

static const struct {
    DwEarsPiece piece;
    const char *words;
    DwPhase phase;
} pieces[] = {
    {DW_EARS_FIRST, N_("The passage as received"), DW_PHASE_AS_RECEIVED},
    {DW_EARS_SECOND, N_("The same passage as left"), DW_PHASE_AS_LEFT},
    {DW_EARS_WORST, N_("The worst turn as received, four times"), DW_PHASE_AS_RECEIVED},
    {DW_EARS_BEST, N_("The best turn as received, four times"), DW_PHASE_AS_RECEIVED},
};
enum { PIECES = sizeof pieces / sizeof *pieces };

static const DwAttachment *recording_at(const DwRecords *all, size_t index)
{
    const DwAttachment *recording = (const DwAttachment *)dw_records_at(all, index);
    return recording->kind == DW_ATTACHMENT_RECORDING ? recording : NULL;
}

// Which of the four pieces RECORDING is, by the name of its file; PIECES for none.
static size_t piece_of(const DwAttachment *recording)
{
    size_t i = 0;
    while (i < PIECES &&
           (!recording->original_name || strcmp(recording->original_name, dw_ears_file(pieces[i].piece)) != 0))
        i++;
    return i;
}

static void write_player(DwPage *page, const DwJob *job, const DwAttachment *recording, const char *words)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/job/%04lld/ears/sound/%lld", (long long)job->number, (long long)recording->record.id);
    dw_html_open(html, "figure", "class", "heard", NULL);
    dw_html_element(html, "figcaption", words, NULL);
    dw_html_open(html, "audio", "controls", DW_HTML_BARE, "preload", "none", "src", path, "aria-label", words, NULL);
    dw_html_close(html, "audio");
    if (!page->request->locked) {
        dw_html_open(html, "a", "href", path, "download", recording->original_name, NULL);
        dw_html_text(html, _("Save the file, to send it along"));
        dw_html_close(html, "a");
    }
    dw_html_close(html, "figure");
    free(path);
}

// The newest of each kind of piece. Returned: whether there is any.
static bool write_heard(DwPage *page, const DwJob *job, const DwRecords *all)
{
    bool any = false;
    for (size_t p = 0; p < PIECES; p++)
        for (size_t i = all->count; i-- > 0;) {
            const DwAttachment *recording = recording_at(all, i);
            if (!recording || piece_of(recording) != p)
                continue;
            write_player(page, job, recording, dw_words(pieces[p].words));
            any = true;
            break;
        }
    if (any)
        dw_html_element(page->html, "p", _("All are equally loud (ITU-R BS.1770): what differs is not the volume."),
                        "class", "quiet", NULL);
    return any;
}

static void write_choice(DwPage *page, const char *name, const char *label, const DwRecords *all, DwPhase other)
{
    const char **words = dw_memory_new(all->count + 1, sizeof *words),
               **values = dw_memory_new(all->count + 1, sizeof *values);
    char(*ids)[24] = dw_memory_new(all->count + 1, sizeof *ids);
    size_t count = 0;
    words[count] = _("Choose one");
    values[count++] = "";
    for (size_t i = 0; i < all->count; i++) {
        const DwAttachment *recording = recording_at(all, i);
        if (!recording || piece_of(recording) < PIECES || recording->phase == (int)other)
            continue;
        snprintf(ids[count], sizeof *ids, "%lld", (long long)recording->record.id);
        words[count] = dw_attachment_name(recording);
        values[count] = ids[count];
        count++;
    }
    dw_form_choice(page, name, label, words, values, count, dw_request_field(page->request, name), NULL);
    free(words);
    free(values);
    free(ids);
}

// How many recordings the pieces can be made of.
static size_t recordings_of(const DwRecords *all)
{
    size_t count = 0;
    for (size_t i = 0; i < all->count; i++) {
        const DwAttachment *recording = recording_at(all, i);
        count += recording && piece_of(recording) == PIECES;
    }
    return count;
}

// Where recordings come from, as long as there are no two.
static void write_way(DwPage *page, const DwJob *job)
{
    char *path = dw_text_format("/measure/twin?job=%04lld", (long long)job->number);
    dw_html_open(page->html, "p", NULL);
    dw_html_text(page->html, _("No two are kept here yet. Set the tick that keeps them on the job where you measure:"));
    dw_html_text(page->html, " ");
    dw_html_open(page->html, "a", "href", path, NULL);
    dw_html_text(page->html, _("What changed between two recordings of one record?"));
    dw_html_close(page->html, "a");
    dw_html_close(page->html, "p");
    free(path);
}

static void write_form(DwPage *page, const DwJob *job, const DwRecords *all)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/job/%04lld/ears", (long long)job->number);
    dw_html_element(html, "h2", _("Make it of two recordings"), NULL);
    dw_html_element(
        html, "p",
        _("Two recordings of the same groove that are kept on this job, half a minute or more: one as received, "
          "one as left."),
        NULL);
    if (recordings_of(all) < 2)
        write_way(page, job);
    dw_form_begin(page, path, false);
    dw_html_open(html, "div", "class", "fields", NULL);
    write_choice(page, "received", _("As received"), all, DW_PHASE_AS_LEFT);
    write_choice(page, "left", _("As left"), all, DW_PHASE_AS_RECEIVED);
    dw_html_close(html, "div");
    dw_form_button(page, _("Make it"));
    dw_form_end(page);
    free(path);
}

static DwAnswer write_page(const DwWebRequest *request, const DwJob *job, const DwRecords *all)
{
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = _("Hear it"), .style = "measure.css", .room = DW_ROOM_BOARD, .help = "twin"});
    dw_job_head_write(page, job, _("Hear it"));
    if (write_heard(page, job, all)) {
        char *here = dw_text_format("/job/%04lld/ears", (long long)job->number);
        dw_page_hand_over(page, here);
        free(here);
    }
    if (!request->locked)
        write_form(page, job, all);
    return dw_page_end(page);
}

static DwAnswer show_ears(const DwWebRequest *request)
{
    return dw_job_head_attached(request, write_page);
}

// Keeps the piece that lies in FOLDER on JOB; the one from before goes.
static DwStatus keep_piece(const DwWebRequest *request, const DwJob *job, const char *folder, size_t index,
                           DwMessage *message)
{
    DwAttachment kept;
    const char *name = dw_ears_file(pieces[index].piece);
    char *path = dw_text_format("%s/%s", folder, name);
    dw_record_init(&kept.record, &dw_attachment_entity);
    kept.job_id = job->record.id;
    kept.deck_id = job->deck_id;
    kept.kind = DW_ATTACHMENT_RECORDING;
    kept.phase = (int)pieces[index].phase;
    kept.original_name = dw_memory_text(name);
    kept.caption = dw_memory_text(dw_words(pieces[index].words));
    DwStatus status = dw_attachment_add(request->book, &kept, path, message);
    dw_record_clear(&kept.record);
    free(path);
    return status;
}

static void remove_folder(const char *folder)
{
    for (int i = 0; i < DW_EARS_PIECES; i++) {
        char *path = dw_text_format("%s/%s", folder, dw_ears_file((DwEarsPiece)i));
        unlink(path);
        free(path);
    }
    rmdir(folder);
}

static DwStatus make(const DwWebRequest *request, const DwJob *job, const char *const paths[2], DwEars *ears,
                     DwMessage *message)
{
    DwInputs *inputs = dw_inputs_new();
    char *folder = dw_text_format("%s/incoming/ears-XXXXXX", dw_book_folder(request->book));
    DwStatus status = mkdtemp(folder) ? DW_OK : dw_fail(message, DW_FAILED, "The book's disk cannot be written.");
    const DwRequest asked = {inputs, paths, 2};
    if (status == DW_OK) // the speed that the deck runs at
        status = dw_job_sheet_prefill(request->book, job, DW_PHASE_NONE, dw_procedure_find("twin"), inputs, message);
    if (status == DW_OK)
        status = dw_ears_make(&asked, folder, ears, message);
    for (size_t i = 0; i < PIECES && status == DW_OK; i++)
        status = keep_piece(request, job, folder, i, message);
    remove_folder(folder);
    free(folder);
    dw_inputs_free(inputs);
    return status;
}

// Where the recording of JOB that the field NAME asks for as PHASE lies; NULL where it asks for none, or for one that
// is kept as the other. The caller frees it.
static char *path_of(const DwWebRequest *request, const DwRecords *all, const char *name, DwPhase phase)
{
    long long id = strtoll(dw_request_field(request, name), NULL, 10);
    DwPhase other = phase == DW_PHASE_AS_RECEIVED ? DW_PHASE_AS_LEFT : DW_PHASE_AS_RECEIVED;
    for (size_t i = 0; i < all->count; i++) {
        const DwAttachment *recording = recording_at(all, i);
        if (recording && recording->record.id == id && recording->phase != (int)other)
            return dw_attachment_path(request->book, recording);
    }
    return NULL;
}

static const char *made_words(const DwEars *ears)
{
    switch (dw_ears_worse(ears)) {
    case 0:
        return _(
            "Made, and kept on the job. By its held notes the recording as received is the less steady of the two.");
    case 1:
        return _(
            "Made, and kept on the job. But by its held notes the recording as left is the less steady of the two: "
            "are they exchanged? Then make it again the other way round.");
    default:
        return _(
            "Made, and kept on the job. Which of the two is the less steady their music does not tell: listen before "
            "the customer does.");
    }
}

static DwAnswer make_ears(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwEars ears;
    DwRecords all = {.entity = &dw_attachment_entity};
    DwMessage message;
    if (request->locked) // the page that a customer hears it from makes nothing
        return dw_answer_refusal(403, _("This screen shows one page only. Nothing was changed."));
    if (dw_job_head_find(request, &job, &answer)) {
        char *place = dw_text_format("/job/%04lld/ears", (long long)job.number);
        DwStatus status = dw_attachment_of_job(request->book, job.record.id, &all, &message);
        char *received = status == DW_OK ? path_of(request, &all, "received", DW_PHASE_AS_RECEIVED) : NULL;
        char *left = status == DW_OK ? path_of(request, &all, "left", DW_PHASE_AS_LEFT) : NULL;
        if (status == DW_OK && (!received || !left || strcmp(received, left) == 0))
            status =
                dw_fail(&message, DW_BAD_INPUT, "Choose two recordings of this job: one as received, one as left.");
        if (status == DW_OK)
            status = make(request, &job, (const char *const[]){received, left}, &ears, &message);
        answer = status == DW_OK ? dw_answer_kept(made_words(&ears), place) : dw_answer_trouble(status, &message);
        free(received);
        free(left);
        free(place);
        dw_records_clear(&all);
    }
    dw_record_clear(&job.record);
    return answer;
}

// The recording itself, for a player: pieces of some seconds, not whole sides, and of this job alone.
static DwAnswer send_piece(const DwWebRequest *request, const DwJob *job, const DwRecords *all)
{
    int64_t id = dw_request_id(request, "id");
    (void)job;
    for (size_t i = 0; i < all->count; i++) {
        const DwAttachment *recording = recording_at(all, i);
        if (!recording || recording->record.id != id || recording->bytes > PLAYED_MOST || piece_of(recording) == PIECES)
            continue;
        size_t length = 0;
        char *path = dw_attachment_path(request->book, recording), *bytes = dw_request_read(path, &length);
        free(path);
        if (bytes)
            return dw_answer_bytes_asked("audio/wav", bytes, length);
    }
    return dw_answer_refusal(404, _("There is no such recording to play."));
}

static DwAnswer send_recording(const DwWebRequest *request)
{
    return dw_job_head_attached(request, send_piece);
}

const DwWebRoute dw_routes_ears[] = {
    {"GET", "/job/:number/ears", show_ears, false},
    {"POST", "/job/:number/ears", make_ears, false},
    {"GET", "/job/:number/ears/sound/:id", send_recording, false},
    {0},
};
