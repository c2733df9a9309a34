// SPDX-License-Identifier: MIT
// The flow of pieces into pages, the texts, pictures and the language of a PDF.
#include "base/memory.h"
#include "base/place.h"
#include "base/text.h"
#include "chart/draw/whole_file.h"
#include "report/paper.h"
#include "report/paper_words.h"
#include "report/pdf_language.h"
#include "report/piece.h"
#include "support/suite.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

typedef struct {
    double height;
} Bar;

static double bar_height(const void *content, const DwCanvas *canvas, double width)
{
    (void)canvas;
    (void)width;
    return ((const Bar *)content)->height;
}

static void bar_draw(const void *content, const DwCanvas *canvas, DwBox box)
{
    (void)content;
    (void)canvas;
    (void)box;
}

static void bar_clear(void *content)
{
    (void)content;
}

static const DwPieceKind bar_kind = {bar_height, bar_draw, bar_clear};

static DwPiece *add_bar(DwFlow *flow, double height)
{
    DwPiece *piece = dw_flow_add(flow, &bar_kind, sizeof(Bar), 1);
    ((Bar *)piece->content)->height = height;
    return piece;
}

// A page of 100 units, an em of 1: pieces stand 1 apart.
static const DwCanvas canvas = {.em = 1};

static DwFlow new_flow(void)
{
    return (DwFlow){.canvas = &canvas, .width = 10, .room = 100};
}

// Every piece stands once (repeated heads apart), in order, whole, below the one before.
static void check_placed(const DwFlow *flow, const DwPlacement *placements, size_t count)
{
    size_t next = 0, page = 0;
    double below = 0;
    for (size_t i = 0; i < count; i++) {
        ck_assert_uint_ge(placements[i].page, page);
        if (placements[i].page > page)
            below = 0;
        page = placements[i].page;
        ck_assert_double_ge(placements[i].box.y, below);
        below = placements[i].box.y + placements[i].box.height;
        ck_assert_double_le(below, flow->room + 1e-9);
        if (placements[i].piece == next)
            next++;
        else
            ck_assert_uint_eq(placements[i].piece, flow->pieces[next].head - 1);
    }
    ck_assert_uint_eq(next, flow->count);
}

START_TEST(fills_pages)
{
    DwFlow flow = new_flow();
    // Three of 30 with gaps of 1 take 92; the fourth begins a page.
    for (int i = 0; i < 7; i++)
        add_bar(&flow, 30);
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&flow, &placements, &pages);
    ck_assert_uint_eq(pages, 3);
    check_placed(&flow, placements, count);
    ck_assert_uint_eq(placements[3].page, 1);
    ck_assert_double_eq(placements[3].box.y, 0);
    ck_assert_double_eq(placements[1].box.y, 31);
    free(placements);
    dw_flow_clear(&flow);
}
END_TEST

START_TEST(keeps_groups_together)
{
    DwFlow flow = new_flow();
    add_bar(&flow, 60);
    add_bar(&flow, 10)->with_next = true; // a heading
    add_bar(&flow, 35);
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&flow, &placements, &pages);
    check_placed(&flow, placements, count);
    ck_assert_uint_eq(placements[0].page, 0);
    ck_assert_uint_eq(placements[1].page, 1);
    ck_assert_uint_eq(placements[2].page, 1);
    free(placements);
    dw_flow_clear(&flow);
}
END_TEST

START_TEST(parts_a_group_no_page_holds)
{
    DwFlow flow = new_flow();
    for (int i = 0; i < 9; i++)
        add_bar(&flow, 40)->with_next = i < 8;
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&flow, &placements, &pages);
    check_placed(&flow, placements, count);
    ck_assert_uint_eq(pages, 5);
    free(placements);
    dw_flow_clear(&flow);
}
END_TEST

START_TEST(repeats_the_head)
{
    DwFlow flow = new_flow();
    add_bar(&flow, 10)->with_next = true;
    for (int i = 0; i < 6; i++)
        add_bar(&flow, 30)->head = 1;
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&flow, &placements, &pages), heads = 0;
    check_placed(&flow, placements, count);
    for (size_t i = 0; i < count; i++) {
        heads += placements[i].piece == 0;
        bool first = i == 0 || placements[i].page != placements[i - 1].page;
        ck_assert_uint_eq(first, placements[i].piece == 0);
    }
    ck_assert_uint_eq(heads, pages);
    free(placements);
    dw_flow_clear(&flow);
}
END_TEST

// However a table falls, no page holds fewer than three of its rows.
START_TEST(no_table_is_parted_for_two_rows)
{
    enum { ROWS = 12 };
    for (double above = 1; above < 99; above += 1) {
        DwFlow flow = new_flow();
        add_bar(&flow, above);
        add_bar(&flow, 6)->with_next = true; // the head
        for (int row = 0; row < ROWS; row++) {
            DwPiece *piece = add_bar(&flow, 5);
            piece->head = 2;
            piece->space = 0;
        }
        DwPlacement *placements;
        size_t pages, count = dw_flow_place(&flow, &placements, &pages), rows[4] = {0};
        check_placed(&flow, placements, count);
        for (size_t i = 0; i < count; i++)
            rows[placements[i].page] += placements[i].piece >= 2;
        for (size_t page = 0; page < pages; page++)
            ck_assert_msg(rows[page] == 0 || rows[page] >= 3, "%zu rows on page %zu below %g", rows[page], page, above);
        free(placements);
        dw_flow_clear(&flow);
    }
}
END_TEST

START_TEST(long_words_run_on)
{
    DwPaper paper;
    dw_paper_begin(&paper, DW_PAPER_LETTER);
    DwText text = {0};
    for (int i = 0; i < 3000; i++)
        dw_text_add(&text, "word%d ", i);
    dw_piece_paragraph(&paper.flow, text.chars);
    static const DwPaperColumn columns[] = {{"One", 0.5, DW_CELL_LEFT}, {"Two", 0.5, DW_CELL_RIGHT}};
    DwPaperTable table = dw_piece_table_begin(&paper.flow, columns, 2);
    dw_piece_table_row(&table, (DwPaperCell[]){{.text = text.chars}, {.text = "12.50"}});
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&paper.flow, &placements, &pages);
    check_placed(&paper.flow, placements, count);
    ck_assert_uint_gt(pages, 6);
    free(placements);
    dw_text_clear(&text);
    dw_paper_clear(&paper);
}
END_TEST

static DwStatus read_words(const char *own, DwPaperWords **words, DwMessage *message)
{
    char path[] = "/tmp/deckwright-words-XXXXXX";
    close(mkstemp(path));
    ck_assert_int_eq(dw_whole_file_write(path, own, strlen(own), NULL), DW_OK);
    DwStatus status = dw_paper_words_read(dw_data_folder(), "en", path, words, message);
    unlink(path);
    return status;
}

START_TEST(own_words_stand_before)
{
    DwPaperWords *words;
    ck_assert_int_eq(read_words("[service]\ntitle = Bench report\n\n[readings]\nshop.lift = It lifts.\n", &words, NULL),
                     DW_OK);
    ck_assert_str_eq(dw_paper_words_say(words, "service", "title"), "Bench report");
    ck_assert_str_eq(dw_paper_words_say(words, "readings", "shop.lift"), "It lifts.");
    ck_assert_str_eq(dw_paper_words_say(words, "invoice", "title"), "Invoice");
    // A text of several lines is one text.
    ck_assert_ptr_nonnull(strstr(dw_paper_words_say(words, "service", "limits.text"), "how long a part will last"));
    dw_paper_words_free(words);
}
END_TEST

START_TEST(unknown_words_are_refused)
{
    DwPaperWords *words;
    DwMessage message;
    ck_assert_int_eq(read_words("[service]\ntitel = Bench report\n", &words, &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "no paper has a text \"titel\" in [service]"));
}
END_TEST

// Source (published): ISO 32000-1:2008, 7.5.5: after the last "startxref" stands where the last table
// is, and its entry where the object is.
START_TEST(language_is_in_the_last_catalog)
{
    DwPaper paper;
    dw_paper_begin(&paper, DW_PAPER_A4);
    dw_piece_paragraph(&paper.flow, "Text.");
    char path[] = "/tmp/deckwright-paper-XXXXXX";
    close(mkstemp(path));
    DwPaperFrame frame = {"Title", "Shop", "pt-BR", "Foot", "page {page} of {pages}"};
    ck_assert_int_eq(dw_paper_write(&paper, &frame, path, NULL), DW_OK);
    unlink(path);
    const char *bytes = paper.output.bytes, *end = bytes + paper.output.length;
    const char *start = NULL;
    for (const char *at = bytes; at + 10 < end; at++)
        if (memcmp(at, "startxref\n", 10) == 0)
            start = at + 10;
    ck_assert_ptr_nonnull(start);
    const char *table = bytes + atol(start);
    long object, count, offset;
    ck_assert_int_eq(sscanf(table, "xref\n%ld %ld\n%ld 00000 n", &object, &count, &offset), 3);
    ck_assert_int_eq(count, 1);
    long number;
    ck_assert_int_eq(sscanf(bytes + offset, "%ld 0 obj", &number), 1);
    ck_assert_int_eq(number, object);
    char *catalog = dw_text_format("%.*s", (int)(table - bytes - offset), bytes + offset);
    ck_assert_ptr_nonnull(strstr(catalog, "/Lang (pt-BR)"));
    ck_assert_ptr_nonnull(strstr(catalog, "/Pages"));
    free(catalog);
    dw_paper_clear(&paper);
}
END_TEST

START_TEST(a_bad_language_changes_nothing)
{
    static const char pdf[] = "%PDF-1.4\n1 0 obj\n<< /Type /Catalog >>\nendobj\ntrailer\n<< /Size 2 /Root 1 0 R >>\n"
                              "startxref\n9\n%%EOF\n";
    static const char *const tags[] = {"", "en) /Bad (", "e n"};
    for (size_t i = 0; i < sizeof tags / sizeof *tags; i++) {
        DwOutput output = {0};
        dw_output_keep(&output, (const unsigned char *)pdf, sizeof pdf - 1);
        dw_pdf_language_set(&output, tags[i]);
        ck_assert_uint_eq(output.length, sizeof pdf - 1);
        free(output.bytes);
    }
}
END_TEST

DW_SUITE("report layout", fills_pages, keeps_groups_together, parts_a_group_no_page_holds, repeats_the_head,
         no_table_is_parted_for_two_rows, long_words_run_on, own_words_stand_before, unknown_words_are_refused,
         language_is_in_the_last_catalog, a_bad_language_changes_nothing)
