using Contracts.Books.Packet;
using Contracts.Host.Reconstruct;
using Spectre.Console;

namespace Contracts.Host.MonthEnd;

/// <summary>
/// A report as tables for a terminal of some width. A figure is never broken or cut: headings wrap first, then words, and where that
/// is not enough the figures go into several tables below each other, each with the first columns repeated.
/// </summary>
internal sealed class ReportTable
{
    private const int Frame = 3;
    private const int NarrowestWords = 12;
    private const int NarrowestFigures = 8;
    private const int LongestKeptWord = 20;

    private readonly Report report;
    private readonly string[][] shown;
    private readonly int[] natural;
    private readonly int[] tight;

    private ReportTable(Report report)
    {
        this.report = report;
        shown = [.. report.Rows.Select(row => row.Cells.Select(PacketWords.Show).ToArray())];
        var figures = report.Columns.Select((_, at) => shown.Select(cells => cells[at].Length).DefaultIfEmpty(0).Max()).ToArray();
        natural = [.. report.Columns.Select((column, at) => Math.Max(figures[at], column.Title.Length))];
        tight = [.. report.Columns.Select((column, at) => column.Kind == ColumnKind.Text
            ? Math.Min(natural[at], Math.Max(NarrowestWords, Math.Min(LongestKeptWord, LongestWord(at))))
            : Math.Min(natural[at], Math.Max(Math.Max(figures[at], NarrowestFigures), Longest(column.Title.Split(' ')))))];
    }

    /// <summary>The report in as many tables as the width asks for.</summary>
    public static IEnumerable<Table> Of(Report report, int width)
    {
        var made = new ReportTable(report);
        return made.Parts(width).Select(columns => made.Build(columns, width));
    }

    private IEnumerable<int[]> Parts(int width)
    {
        var all = Enumerable.Range(0, report.Columns.Length).ToArray();
        var keys = all.TakeWhile(at => report.Columns[at].Kind is ColumnKind.Text or ColumnKind.Date).ToArray();
        var part = keys.ToList();
        foreach (var at in all.Skip(keys.Length))
        {
            if (part.Count > keys.Length && Width([.. part, at], tight) > width)
            {
                yield return [.. part];
                part = [.. keys];
            }

            part.Add(at);
        }

        yield return [.. part];
    }

    private Table Build(int[] columns, int width)
    {
        var table = AccountPrinter.Plain();
        var room = Width(columns, natural) <= width;
        foreach (var at in columns)
        {
            var isWords = report.Columns[at].Kind == ColumnKind.Text;
            var column = new TableColumn(new Text(Heading(report.Columns[at].Title, room || isWords ? natural[at] : tight[at])));
            if (IsFigure(at)) { column = column.RightAligned(); }
            if (!isWords) { column = column.NoWrap().Width(room ? natural[at] : tight[at]); }
            table.AddColumn(column);
        }

        for (var number = 0; number < shown.Length; number++) { AddRow(table, columns, number, room ? natural : tight); }
        return table;
    }

    /// <summary>A sum stands under a rule and in bold; the sum of the report has a double rule below as well.</summary>
    private void AddRow(Table table, int[] columns, int number, int[] widths)
    {
        var kind = report.Rows[number].Kind;
        if (kind != RowKind.Line) { table.AddRow(Rule('-')); }
        var style = kind == RowKind.Line ? Style.Plain : new Style(decoration: Decoration.Bold);
        table.AddRow(columns.Select(at => new Text(shown[number][at], style)));
        if (kind == RowKind.Total) { table.AddRow(Rule('=')); }

        IEnumerable<Text> Rule(char line) =>
            columns.Select(at => new Text(IsFigure(at) && shown[number][at].Length > 0 ? new string(line, widths[at]) : ""));
    }

    /// <summary>A heading in lines of a width, without the space at a line's end that would push it out of its column.</summary>
    private static string Heading(string title, int width)
    {
        var lines = new List<string>();
        foreach (var word in title.Split(' '))
        {
            if (lines.Count > 0 && lines[^1].Length + 1 + word.Length <= width) { lines[^1] += $" {word}"; }
            else { lines.Add(word); }
        }

        return string.Join('\n', lines);
    }

    private bool IsFigure(int at) => report.Columns[at].Kind is ColumnKind.Count or ColumnKind.Money;

    private int LongestWord(int at) => Longest(shown.SelectMany(cells => cells[at].Split(' ')));

    private static int Width(int[] columns, int[] widths) => columns.Sum(at => widths[at] + Frame);

    private static int Longest(IEnumerable<string> words) => words.Select(word => word.Length).DefaultIfEmpty(0).Max();
}
