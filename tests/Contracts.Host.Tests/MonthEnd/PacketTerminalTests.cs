using Contracts.Books.Month;
using Contracts.Books.Packet;
using Contracts.Host.MonthEnd;
using Contracts.Host.Terminal;
using Contracts.Tests.Support;
using NodaTime;
using Spectre.Console;
using Xunit;

namespace Contracts.Host.Tests.MonthEnd;

/// <summary>The packet as an accountant sees it in a terminal or a pipe.</summary>
public sealed class PacketTerminalTests
{
    [Theory]
    [InlineData(80)]
    [InlineData(120)]
    public void The_printed_packet_is_the_kept_one(int width)
    {
        var printed = Print(SamplePacket.Make(), width);
        Golden.Same($"fixtures/packet/2026-09.{width}.txt", printed);
        Assert.DoesNotContain('\u001b', printed);
        Assert.All(printed.Split('\n').Where(line => !IsCommand(line)), line => Assert.True(line.Length <= width, line));
    }

    [Theory]
    [InlineData(80)]
    [InlineData(120)]
    public void The_printed_taxes_and_comparisons_of_a_made_month_are_the_kept_ones(int width)
    {
        var made = MadeMonth.Make(PacketMaker.Form);
        string[] shown = ["income-statement", "balance-sheet", "taxable-receipts", "tax-by-authority"];
        var part = new Packet(made.Month, made.Known, made.ThroughSequence, made.Title, made.Checks, [.. made.Reports.Where(report => shown.Contains(report.Id))]);
        var printed = Print(part, width);
        Golden.Same($"fixtures/packet/2026-10.taxes.{width}.txt", printed);
        Assert.All(printed.Split('\n').Where(line => !IsCommand(line)), line => Assert.True(line.Length <= width, line));
    }

    [Theory]
    [InlineData(40)]
    [InlineData(60)]
    [InlineData(80)]
    [InlineData(200)]
    public void No_figure_is_broken_or_cut_at_any_width(int width)
    {
        var printed = Print(SamplePacket.Make(), width);
        var words = printed.Split((char[])[' ', '\n', '│'], StringSplitOptions.RemoveEmptyEntries).ToHashSet(StringComparer.Ordinal);
        var figures = SamplePacket.Make().Reports.SelectMany(report => report.Rows).SelectMany(row => row.Cells).Where(cell => cell is not (Cell.Text or Cell.Empty));
        Assert.All(figures, figure => Assert.Contains(PacketWordsOf(figure), words));
    }

    [Fact]
    public void Text_cannot_steer_the_terminal_and_markup_is_text()
    {
        var report = new Report(
            "r", "[bold]R[/]", null, [new Column("a", "[A]", ColumnKind.Text)], [new Row(RowKind.Line, [Cell.Of("x\u001b[2Jy [red]z")], null)]);
        var printed = Print(new Packet("2026-09", Instant.FromUnixTimeSeconds(0), 0, "[T]", [new Check("[c]", true, "d\te")], [report]), 80);
        Assert.DoesNotContain('\u001b', printed);
        Assert.Contains("x [2Jy [red]z", printed, StringComparison.Ordinal);
        Assert.Contains("[bold]R[/]", printed, StringComparison.Ordinal);
        Assert.Contains("[T], month 2026-09", printed, StringComparison.Ordinal);
    }

    [Fact]
    public void The_caution_is_the_one_that_help_gives()
    {
        var last = Print(SamplePacket.Make(), 120).TrimEnd().Split('\n')[^1];
        Assert.Contains(last, ContractsCommand.Root().Description!, StringComparison.Ordinal);
        Assert.Contains("Not legal, tax or accounting advice", last, StringComparison.Ordinal);
    }

    private static bool IsCommand(string line) => line.StartsWith("  ", StringComparison.Ordinal) || line.StartsWith("SHA-256", StringComparison.Ordinal);

    private static string PacketWordsOf(Cell cell) => cell switch
    {
        Cell.Date date => date.Value.ToString("uuuu-MM-dd", null),
        Cell.Count count => count.Value.ToString("#,0", null),
        Cell.Amount amount => (amount.Value.Cents / 100m).ToString("#,0.00", null),
        _ => throw new InvalidOperationException(),
    };

    private static string Print(Packet packet, int width)
    {
        using var writer = new StringWriter { NewLine = "\n" };
        var console = AnsiConsole.Create(new AnsiConsoleSettings
        {
            Ansi = AnsiSupport.No, ColorSystem = ColorSystemSupport.NoColors, Out = new AnsiConsoleOutput(writer),
        });
        console.Profile.Width = width;
        console.Profile.Capabilities.Unicode = true;
        PacketPrinter.Print(packet, console);
        return string.Join('\n', writer.ToString().ReplaceLineEndings("\n").Split('\n').Select(line => line.TrimEnd()));
    }
}
