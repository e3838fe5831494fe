using System.Globalization;
using System.IO.Compression;
using System.Text;
using System.Xml.Linq;
using Contracts.Books.Month;
using Contracts.Books.Packet;
using Contracts.Host.MonthEnd;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.MonthEnd;

/// <summary>The packet's files, opened again by readers that are not the writers.</summary>
public sealed class PacketFileTests : IDisposable
{
    private static readonly XNamespace Main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    private static readonly XNamespace Relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";

    private readonly string folder = Directory.CreateTempSubdirectory("contracts-packet-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task Every_report_is_a_file_of_comma_separated_values_that_reads_back()
    {
        var packet = SamplePacket.Make();
        var files = await PacketCsv.WriteAsync(packet, Path.Combine(folder, "csv"), default);
        Assert.Equal(
            ["2026-09-trial-balance.csv", "2026-09-ageing.csv", "2026-09-instruments.csv", "2026-09-write-offs.csv"], files.Select(Path.GetFileName));
        await SameCsvAsync(packet, files);
    }

    [Fact]
    public async Task A_made_month_has_its_taxes_and_earlier_months_in_every_file()
    {
        var packet = MadeMonth.Make(PacketMaker.Form);
        var files = await PacketCsv.WriteAsync(packet, Path.Combine(folder, "made"), default);
        Assert.Contains("2026-10-taxable-receipts.csv", files.Select(Path.GetFileName));
        Assert.Contains("2026-10-tax-by-authority.csv", files.Select(Path.GetFileName));
        Assert.StartsWith("row,number,account,month,monthBefore,yearAgo,year,sinceStart,evidence", await File.ReadAllTextAsync(files[1]), StringComparison.Ordinal);
        await SameCsvAsync(packet, files);
        using var book = await BookAsync(packet);
        var names = Sheets(book).Select(sheet => sheet.Name).ToList();
        Assert.Contains("Taxed receipts by jurisdiction", names);
        Assert.Contains("Sales tax charged by authority", names);
        SameSheets(packet, book);
    }

    private static async Task SameCsvAsync(Packet packet, IReadOnlyList<string> files)
    {
        foreach (var (report, file) in packet.Reports.Zip(files))
        {
            var lines = ReadCsv(await File.ReadAllTextAsync(file));
            Assert.Equal(["row", .. report.Columns.Select(column => column.Id), "evidence"], lines[0]);
            Assert.Equal(report.Rows.Length, lines.Count - 1);
            foreach (var (row, line) in report.Rows.Zip(lines.Skip(1)))
            {
                Assert.Equal([row.Kind.ToString().ToLowerInvariant(), .. row.Cells.Select(cell => cell.Plain), row.Evidence ?? ""], line);
            }
        }
    }

    [Theory]
    [InlineData("=1+1", "'=1+1")]
    [InlineData("+1", "'+1")]
    [InlineData("-1", "'-1")]
    [InlineData("@SUM(A1)", "'@SUM(A1)")]
    [InlineData("\t=1", "'\t=1")]
    [InlineData("a=1", "a=1")]
    [InlineData("two\r\nlines, \"quoted\"", "two\r\nlines, \"quoted\"")]
    public void A_spreadsheet_takes_no_text_for_a_formula_and_every_figure_for_a_figure(string text, string read)
    {
        var bytes = PacketCsv.Bytes(Single(text));
        Assert.Equal([["row", "a", "n", "m", "evidence"], ["line", read, "-3", "-12.05", ""]], ReadCsv(Encoding.UTF8.GetString(bytes)));
        Assert.NotEqual(0xEF, bytes[0]);
    }

    [Fact]
    public async Task The_workbook_holds_every_figure_as_a_figure()
    {
        var packet = SamplePacket.Make();
        using var book = await BookAsync(packet);
        var sheets = Sheets(book);
        Assert.Equal(["Packet", "Trial balance", "Ageing of receivables", "Rental instruments roll-forward", "Write-offs"], sheets.Select(sheet => sheet.Name));
        SameSheets(packet, book);
    }

    private static void SameSheets(Packet packet, ZipArchive book)
    {
        var styles = Part(book, "xl/styles.xml");
        foreach (var (report, (_, sheet)) in packet.Reports.Zip(Sheets(book).Skip(1)))
        {
            var pane = sheet.Descendants(Main + "pane").Single();
            Assert.Equal(("frozen", "1"), ((string?)pane.Attribute("state"), (string?)pane.Attribute("ySplit")));
            var rows = sheet.Descendants(Main + "row").ToList();
            Assert.Equal(report.Columns.Select(column => column.Title), rows[0].Elements(Main + "c").Take(report.Columns.Length).Select(Value));
            foreach (var (row, read) in report.Rows.Zip(rows.Skip(1)))
            {
                var cells = read.Elements(Main + "c").ToList();
                for (var at = 0; at < row.Cells.Length; at++) { Same(row.Cells[at], cells[at], styles); }
                Assert.Equal(row.Evidence, cells.Count > row.Cells.Length ? Value(cells[^1]) : null);
            }
        }
    }

    [Fact]
    public async Task The_first_sheet_says_what_the_packet_is_and_what_failed()
    {
        var packet = SamplePacket.Make();
        using var book = await BookAsync(packet);
        var lines = Sheets(book)[0].Sheet.Descendants(Main + "row").Select(row => string.Join('|', row.Elements(Main + "c").Select(Value))).ToList();
        Assert.Contains("Month|2026-09", lines);
        Assert.Contains("As known at|2026-10-02T13:30:00Z", lines);
        Assert.Contains("Through event|18442", lines);
        Assert.Contains($"SHA-256 of the packet as JSON|{PacketJson.Digest(packet)}", lines);
        Assert.All(packet.Checks, check => Assert.Contains($"{check.Name}|{(check.Passed ? "passed" : "FAILED")}|{check.Detail}", lines));
        Assert.Contains("Trial balance|Trial balance|Debits are positive, credits are negative in the opening and closing columns.", lines);
        Assert.Contains("Not legal, tax or accounting advice", lines[^1], StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_same_packet_makes_the_same_workbook_later()
    {
        var first = await WorkbookAsync(SamplePacket.Make());
        await Task.Delay(2100); // a zip keeps times to two seconds
        Assert.Equal(first, await WorkbookAsync(SamplePacket.Make()));
    }

    [Fact]
    public async Task Text_in_the_workbook_is_text_and_sheets_have_names_of_their_own()
    {
        var title = "A title: of [many] more letters than a sheet's name may have";
        var reports = new[] { "a", "b", "c" }.Select(id => new Report(id, title, null, Single("=1+1\u0001").Columns, Single("=1+1\u0001").Rows));
        var packet = new Packet("2026-09", Instant.FromUnixTimeSeconds(0), 0, "T", [], [.. reports]);
        using var book = await BookAsync(packet);
        var sheets = Sheets(book);
        Assert.Equal(4, sheets.Select(sheet => sheet.Name).Distinct(StringComparer.OrdinalIgnoreCase).Count());
        Assert.All(sheets, sheet => Assert.InRange(sheet.Name.Length, 1, 31));
        Assert.All(sheets, sheet => Assert.Empty(sheet.Sheet.Descendants(Main + "f")));
        Assert.Equal("=1+1 ", Value(sheets[1].Sheet.Descendants(Main + "row").ElementAt(1).Elements(Main + "c").First()));
    }

    private static Report Single(string text) => new(
        "r", "R", null,
        [new Column("a", "A", ColumnKind.Text), new Column("n", "N", ColumnKind.Count), new Column("m", "M", ColumnKind.Money)],
        [new Row(RowKind.Line, [Cell.Of(text), Cell.Of(-3), Cell.Of(new Money(-1205))], null)]);

    private static async Task<byte[]> WorkbookAsync(Packet packet)
    {
        using var file = new MemoryStream();
        await PacketXlsx.WriteAsync(packet, file, default);
        return file.ToArray();
    }

    private static async Task<ZipArchive> BookAsync(Packet packet) => new(new MemoryStream(await WorkbookAsync(packet)), ZipArchiveMode.Read);

    private static void Same(Cell cell, XElement read, XElement styles)
    {
        var isText = (string?)read.Attribute("t") is "inlineStr" or "s" or "str";
        var format = FormatOf(read, styles);
        switch (cell)
        {
            case Cell.Empty: Assert.Equal("", Value(read)); break;
            case Cell.Text text: Assert.Equal((true, text.Value), (isText, Value(read))); break;
            case Cell.Count count:
                Assert.Equal((false, count.Value, "3"), (isText, long.Parse(Value(read), CultureInfo.InvariantCulture), format));
                break;
            case Cell.Amount amount:
                Assert.Equal((false, amount.Value.Cents / 100m, "4"), (isText, decimal.Parse(Value(read), CultureInfo.InvariantCulture), format));
                break;
            case Cell.Date date:
                var day = DateTime.FromOADate(double.Parse(Value(read), CultureInfo.InvariantCulture));
                Assert.Equal((false, date.Value.ToDateTimeUnspecified(), @"yyyy\-mm\-dd"), (isText, day, format));
                break;
            default: throw new InvalidOperationException();
        }
    }

    private static string FormatOf(XElement cell, XElement styles)
    {
        var look = styles.Element(Main + "cellXfs")!.Elements(Main + "xf").ElementAt((int?)cell.Attribute("s") ?? 0);
        var id = (string)look.Attribute("numFmtId")!;
        return (string?)styles.Descendants(Main + "numFmt").FirstOrDefault(own => (string?)own.Attribute("numFmtId") == id)?.Attribute("formatCode") ?? id;
    }

    private static string Value(XElement cell) =>
        string.Concat(cell.Descendants(Main + "t").Concat(cell.Elements(Main + "v")).Select(part => part.Value));

    private static List<(string Name, XElement Sheet)> Sheets(ZipArchive book)
    {
        var targets = Part(book, "xl/_rels/workbook.xml.rels").Elements()
            .ToDictionary(relation => (string)relation.Attribute("Id")!, relation => ((string)relation.Attribute("Target")!).Replace("/xl/", "", StringComparison.Ordinal));
        return [.. Part(book, "xl/workbook.xml").Descendants(Main + "sheet").Select(sheet =>
            ((string)sheet.Attribute("name")!, Part(book, $"xl/{targets[(string)sheet.Attribute(Relations + "id")!]}")))];
    }

    private static XElement Part(ZipArchive book, string name)
    {
        using var stream = book.GetEntry(name)!.Open();
        return XElement.Load(stream);
    }

    /// <summary>A strict reader of RFC 4180: CRLF ends every line, quotes stand around a whole field.</summary>
    private static List<string[]> ReadCsv(string text)
    {
        var (lines, fields, at) = (new List<string[]>(), new List<string>(), 0);
        while (at < text.Length)
        {
            var field = new StringBuilder();
            if (text[at] == '"')
            {
                for (at++; text[at] != '"' || (at + 1 < text.Length && text[at + 1] == '"'); at++) { field.Append(text[at] == '"' ? text[at++] : text[at]); }
                at++;
            }
            else
            {
                while (text[at] is not (',' or '\r')) { Assert.NotEqual('"', text[at]); Assert.NotEqual('\n', text[at]); field.Append(text[at++]); }
            }

            fields.Add(field.ToString());
            if (text[at] == ',') { at++; continue; }
            Assert.Equal("\r\n", text.Substring(at, 2));
            at += 2;
            lines.Add([.. fields]);
            fields.Clear();
        }

        return lines;
    }
}
