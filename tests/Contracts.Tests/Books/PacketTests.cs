using System.Collections.Immutable;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Books.Packet;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Books;

/// <summary>The document that a closed month hands over, and its form for programs.</summary>
public sealed class PacketTests
{
    private static readonly ImmutableArray<Column> Columns =
    [
        new("name", "Name", ColumnKind.Text), new("on", "On", ColumnKind.Date), new("units", "Units", ColumnKind.Count), new("sum", "Sum", ColumnKind.Money),
    ];

    [Fact]
    public void Two_packets_of_the_same_words_and_figures_are_equal()
    {
        var (one, other) = (SamplePacket.Make(), SamplePacket.Make());
        Assert.NotSame(one, other);
        Assert.Equal(one, other);
        Assert.Equal(one.GetHashCode(), other.GetHashCode());
        var reports = one.Reports;
        var shorter = new Report("instruments", reports[2].Title, null, reports[2].Columns, reports[2].Rows.RemoveAt(1));
        Assert.NotEqual(one, new Packet(one.Month, one.Known, one.ThroughSequence, one.Title, one.Checks, reports.SetItem(2, shorter)));
    }

    [Fact]
    public void A_cell_fits_its_own_kind_of_column_only_and_nothing_fits_all()
    {
        Cell[] cells = [Cell.Of("a"), Cell.Of(new LocalDate(2026, 9, 30)), Cell.Of(3), Cell.Of(new Money(100))];
        for (var at = 0; at < cells.Length; at++)
        {
            Assert.Equal([.. cells.Select((_, i) => i == at)], cells.Select(cell => cell.Fits(Columns[at].Kind)));
            Assert.True(Cell.Nothing.Fits(Columns[at].Kind));
        }

        Assert.Equal(["a", "2026-09-30", "3", "1.00"], cells.Select(cell => cell.Plain));
    }

    [Fact]
    public void A_row_that_does_not_fit_its_report_is_named()
    {
        Row good = new(RowKind.Line, [Cell.Of("a"), Cell.Nothing, Cell.Of(1), Cell.Of(Money.Zero)], null);
        Row wrong = new(RowKind.Line, [Cell.Of("a"), Cell.Nothing, Cell.Of(Money.Zero), Cell.Of(Money.Zero)], null);
        Row brief = new(RowKind.Total, [Cell.Of("a")], null);
        Assert.Contains("Report r, row 2: Amount '0.00' in the Count column units.", Said(good, wrong), StringComparison.Ordinal);
        Assert.Contains("Report r, row 1: 1 cells for 4 columns.", Said(brief), StringComparison.Ordinal);

        static string Said(params Row[] rows) => Assert.Throws<ArgumentException>(() => new Report("r", "R", null, Columns, [.. rows])).Message;
    }

    [Theory]
    [InlineData("2026-13")]
    [InlineData("2026-9")]
    [InlineData("2026-09-01")]
    [InlineData("")]
    public void A_month_is_a_month(string month) =>
        Assert.Throws<ArgumentException>(() => new Packet(month, Instant.MinValue, 0, "T", [], []));

    [Theory]
    [InlineData("Trial")]
    [InlineData("a--b")]
    [InlineData("../a")]
    [InlineData("")]
    public void A_reports_id_can_name_a_file(string id) => Assert.Throws<ArgumentException>(() => new Report(id, "R", null, Columns, []));

    [Fact]
    public void Ids_do_not_stand_twice_and_what_is_missing_is_not_empty()
    {
        Assert.Throws<ArgumentException>(() => new Report("r", "R", null, [Columns[0], Columns[0]], []));
        Assert.Throws<ArgumentException>(() => new Report("r", "R", null, [], []));
        Assert.Throws<ArgumentException>(() => new Report("r", "R", null, Columns, default));
        Assert.Throws<ArgumentException>(() => new Column("evidence", "E", ColumnKind.Text));
        Assert.Throws<ArgumentException>(() => new Row(RowKind.Line, [], "two\nlines"));
        var report = new Report("r", "R", null, Columns, []);
        Assert.Throws<ArgumentException>(() => new Packet("2026-09", Instant.MinValue, 0, "T", [], [report, report]));
        Assert.Throws<ArgumentOutOfRangeException>(() => new Packet("2026-09", Instant.MinValue, -1, "T", [], []));
    }

    [Fact]
    public void The_json_is_the_kept_file_to_the_byte()
    {
        var bytes = PacketJson.Bytes(SamplePacket.Make());
        Golden.Same("fixtures/packet/2026-09.json", Encoding.UTF8.GetString(bytes));
        Assert.Equal(bytes, PacketJson.Bytes(SamplePacket.Make()));
        Assert.Equal("3e09b7f64a1a7492", PacketJson.Digest(SamplePacket.Make())[..16]);
        Assert.Equal("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", PacketJson.Digest("abc"u8));
    }

    [Fact]
    public void Every_figure_is_found_again_in_the_json()
    {
        var packet = SamplePacket.Make();
        var json = JsonNode.Parse(PacketJson.Bytes(packet))!;
        Assert.Equal(("2026-09", 18_442L, "2026-10-02T13:30:00Z"), ((string)json["month"]!, (long)json["throughSequence"]!, (string)json["known"]!));
        foreach (var (report, read) in packet.Reports.Zip(json["reports"]!.AsArray()))
        {
            Assert.Equal(report.Rows.Length, read!["rows"]!.AsArray().Count);
            foreach (var (row, line) in report.Rows.Zip(read["rows"]!.AsArray()))
            {
                Assert.Equal(report.Columns.Select(column => column.Id), line!["cells"]!.AsObject().Select(cell => cell.Key));
                Assert.Equal(row.Cells.Select(cell => cell.Plain), line["cells"]!.AsObject().Select(cell => cell.Value?.ToString() ?? ""));
                Assert.Equal(row.Evidence, (string?)line["evidence"]);
            }
        }
    }
}
