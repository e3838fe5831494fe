using System.IO.Compression;
using Contracts.Books.Packet;
using NodaTime.Text;
using SpreadCheetah;
using SpreadCheetah.Worksheets;
using Cell = Contracts.Books.Packet.Cell;

namespace Contracts.Host.MonthEnd;

/// <summary>
/// The packet as a workbook: an index sheet with the month, the checks and the list of sheets, then one sheet a report. Amounts, counts
/// and dates are real numbers and dates, text is text and never a formula; sums are figures, not formulas, as in the other forms.
/// </summary>
/// <remarks>
/// The same packet gives the same bytes on the same platform and runtime: the library's file is packed again with fixed times, and
/// has no part that says when it was made. Another runtime may compress differently; what is compared across machines is the digest
/// of the JSON form, which the index sheet carries. A spreadsheet holds fifteen digits, which is amounts below ten trillion dollars.
/// </remarks>
public static class PacketXlsx
{
    private const int NarrowestColumn = 11;
    private const int WidestColumn = 60;
    private static readonly DateTimeOffset NoTime = new(1980, 1, 1, 0, 0, 0, TimeSpan.Zero);

    /// <summary>Writes the workbook to the stream and leaves it open.</summary>
    public static async Task WriteAsync(Packet packet, Stream to, CancellationToken stop)
    {
        using var raw = new MemoryStream();
        var options = new SpreadCheetahOptions { DocumentProperties = null, WriteCellReferenceAttributes = true, PreserveStringWhitespace = true };
        var book = await Spreadsheet.CreateNewAsync(raw, options, stop).ConfigureAwait(false);
        await using (book.ConfigureAwait(false))
        {
            var styles = new SheetStyles(book);
            var names = SheetNames.Of(packet);
            await WriteIndexAsync(book, styles, packet, names, stop).ConfigureAwait(false);
            for (var at = 0; at < packet.Reports.Length; at++)
            {
                await WriteSheetAsync(book, styles, packet.Reports[at], names[at], stop).ConfigureAwait(false);
            }

            await book.FinishAsync(stop).ConfigureAwait(false);
        }

        raw.Position = 0;
        await RepackAsync(raw, to, stop).ConfigureAwait(false);
    }

    private static async Task WriteIndexAsync(
        Spreadsheet book, SheetStyles styles, Packet packet, IReadOnlyList<string> names, CancellationToken stop)
    {
        var options = new WorksheetOptions { FrozenRows = 1 };
        foreach (var (column, width) in new[] { (1, 44), (2, 40), (3, 70) }) { options.Column(column).Width = width; }
        await book.StartWorksheetAsync(SheetNames.Index, options, stop).ConfigureAwait(false);
        await RowAsync(new StyledCell(packet.Title, styles.Heading), new StyledCell($"month {packet.Month}", styles.Heading)).ConfigureAwait(false);
        await RowAsync(new("Month", null), new(packet.Month, null)).ConfigureAwait(false);
        await RowAsync(new("As known at", null), new(InstantPattern.ExtendedIso.Format(packet.Known), null)).ConfigureAwait(false);
        await RowAsync(new("Through event", null), new(packet.ThroughSequence, styles.Left)).ConfigureAwait(false);
        await RowAsync(new("SHA-256 of the packet as JSON", null), new(PacketJson.Digest(packet), styles.Wrapped)).ConfigureAwait(false);
        await RowAsync().ConfigureAwait(false);
        await RowAsync(new StyledCell(PacketWords.Verdict(packet), styles.Heading)).ConfigureAwait(false);
        await RowAsync(Header("Check", "Result", "Detail")).ConfigureAwait(false);
        foreach (var check in packet.Checks)
        {
            await RowAsync(
                new(check.Name, styles.Wrapped), new(PacketWords.Result(check), check.Passed ? styles.Wrapped : styles.Loud),
                new(PacketWords.Visible(check.Detail), styles.Wrapped)).ConfigureAwait(false);
        }

        await RowAsync().ConfigureAwait(false);
        await RowAsync(Header("Sheet", "Report", "Note")).ConfigureAwait(false);
        foreach (var (name, report) in names.Zip(packet.Reports))
        {
            await RowAsync(new(name, styles.Wrapped), new(report.Title, styles.Wrapped), new(report.Note, styles.Wrapped)).ConfigureAwait(false);
        }

        await RowAsync().ConfigureAwait(false);
        await RowAsync(new StyledCell(PacketWords.Caution, null)).ConfigureAwait(false);

        ValueTask RowAsync(params StyledCell[] cells) => book.AddRowAsync(cells, stop);
        StyledCell[] Header(params string[] titles) => [.. titles.Select(title => new StyledCell(title, styles.Header))];
    }

    private static async Task WriteSheetAsync(Spreadsheet book, SheetStyles styles, Report report, string name, CancellationToken stop)
    {
        var evidence = report.Rows.Any(row => row.Evidence is not null);
        await book.StartWorksheetAsync(name, Layout(report, evidence), stop).ConfigureAwait(false);
        var header = report.Columns.Select(column => new StyledCell(column.Title, styles.HeaderOf(column.Kind)));
        await book.AddRowAsync([.. header, .. evidence ? [new StyledCell("The events behind the line", styles.Header)] : Array.Empty<StyledCell>()], stop)
            .ConfigureAwait(false);
        foreach (var row in report.Rows)
        {
            var cells = row.Cells.Select((cell, at) => Of(cell, styles.Of(report.Columns[at].Kind, row.Kind))).ToList();
            if (row.Evidence is { } command) { cells.Add(new StyledCell(command, null)); }
            await book.AddRowAsync(cells, stop).ConfigureAwait(false);
        }

        if (report.Note is { } note)
        {
            await book.AddRowAsync(Array.Empty<StyledCell>(), stop).ConfigureAwait(false);
            await book.AddRowAsync([new StyledCell($"Note: {note}", null)], stop).ConfigureAwait(false);
        }
    }

    private static WorksheetOptions Layout(Report report, bool evidence)
    {
        var options = new WorksheetOptions { FrozenRows = 1 };
        for (var at = 0; at < report.Columns.Length; at++)
        {
            var longest = report.Rows.Select(row => PacketWords.Show(row.Cells[at]).Length).Append(report.Columns[at].Title.Length).Max();
            options.Column(at + 1).Width = Math.Clamp(longest + 2, NarrowestColumn, WidestColumn);
        }

        if (evidence) { options.Column(report.Columns.Length + 1).Width = WidestColumn; }
        return options;
    }

    private static StyledCell Of(Cell cell, SpreadCheetah.Styling.StyleId? style) => cell switch
    {
        Cell.Text text => new StyledCell(PacketWords.Visible(text.Value), style),
        Cell.Date date => new StyledCell(date.Value.ToDateTimeUnspecified(), style),
        Cell.Count count => new StyledCell(count.Value, style),
        Cell.Amount amount => new StyledCell(amount.Value.Cents / 100m, style),
        Cell.Empty => new StyledCell((string?)null, style),
        _ => throw new InvalidOperationException($"A cell of {cell.GetType()} has no place in a sheet."),
    };

    private static async Task RepackAsync(Stream from, Stream to, CancellationToken stop)
    {
        using var old = new ZipArchive(from, ZipArchiveMode.Read);
        using var packed = new ZipArchive(to, ZipArchiveMode.Create, leaveOpen: true);
        foreach (var part in old.Entries)
        {
            var entry = packed.CreateEntry(part.FullName, CompressionLevel.Optimal);
            entry.LastWriteTime = NoTime;
            var source = await part.OpenAsync(stop).ConfigureAwait(false);
            var target = await entry.OpenAsync(stop).ConfigureAwait(false);
            await using (source.ConfigureAwait(false))
            await using (target.ConfigureAwait(false)) { await source.CopyToAsync(target, stop).ConfigureAwait(false); }
        }
    }
}
