// SPDX-License-Identifier: MIT
// The customer's three questions and how each is answered: shape and word.
#include "report/piece.h"

#include "base/memory.h"
#include "chart/draw/mark.h"

#include <math.h>
#include <stdlib.h>

enum { ANSWERS_MOST = 4 };

typedef struct {
    struct {
        char *question, *by;
        DwVerdict verdict;
    } answers[ANSWERS_MOST];
    size_t count;
} Answers;

static const DwLetters question_letters = {.size = 0.92, .ink = DW_INK_TEXT};
static const DwLetters verdict_letters = {.size = 1.3, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters by_letters = {.size = 0.86, .ink = DW_INK_QUIET};
static const double gap = 1.2;

static double answer_width(const Answers *answers, const DwCanvas *canvas, double width)
{
    return (width - gap * canvas->em * (double)(answers->count - 1)) / (double)answers->count;
}

// Questions of more than one line push all answers down alike.
static double question_height(const Answers *answers, const DwCanvas *canvas, double each)
{
    double height = 0;
    for (size_t i = 0; i < answers->count; i++)
        height = fmax(height, dw_canvas_paragraph_height(canvas, question_letters, each, answers->answers[i].question));
    return height;
}

static double answers_height(const void *content, const DwCanvas *canvas, double width)
{
    const Answers *answers = content;
    double by = 0, each = answer_width(answers, canvas, width);
    for (size_t i = 0; i < answers->count; i++)
        if (answers->answers[i].by[0])
            by = fmax(by, dw_canvas_paragraph_height(canvas, by_letters, each, answers->answers[i].by));
    return question_height(answers, canvas, each) + 2.3 * canvas->em + by;
}

static void draw_answers(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Answers *answers = content;
    double em = canvas->em, width = answer_width(answers, canvas, box.width);
    double y = box.y + 0.35 * em + question_height(answers, canvas, width);
    for (size_t i = 0; i < answers->count; i++) {
        double x = box.x + (double)i * (width + gap * em);
        dw_canvas_use(canvas, DW_INK_LINE);
        cairo_rectangle(canvas->cairo, x, box.y, width, 0.1 * em);
        cairo_fill(canvas->cairo);
        dw_canvas_paragraph(canvas, question_letters, x, box.y + 0.35 * em, width, answers->answers[i].question);
        DwVerdict verdict = answers->answers[i].verdict;
        double end = x + dw_mark_word_width(canvas, verdict, verdict_letters);
        dw_mark_draw_with_word(canvas, verdict, end, y + 1.4 * em, verdict_letters);
        if (answers->answers[i].by[0])
            dw_canvas_paragraph(canvas, by_letters, x, y + 1.8 * em, width, answers->answers[i].by);
    }
}

static void clear_answers(void *content)
{
    Answers *answers = content;
    for (size_t i = 0; i < answers->count; i++) {
        free(answers->answers[i].question);
        free(answers->answers[i].by);
    }
}

void dw_piece_answers(DwFlow *flow, const DwPieceAnswer *given, size_t count)
{
    static const DwPieceKind kind = {answers_height, draw_answers, clear_answers, NULL};
    Answers *answers = dw_flow_add(flow, &kind, sizeof(Answers), 0.9)->content;
    for (size_t i = 0; i < count && i < ANSWERS_MOST; i++) {
        answers->answers[i].question = dw_memory_text(given[i].question);
        answers->answers[i].by = dw_memory_text(given[i].by);
        answers->answers[answers->count++].verdict = given[i].verdict;
    }
}
