using Contracts.Books.Packet;
using Contracts.Host.Reconstruct;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.MonthEnd;

/// <summary>Prints a packet for people: what it is, the checks, the reports one after another, and the caution.</summary>
public static class PacketPrinter
{
    /// <summary>Prints the packet at the console's own width; without escapes where the console takes none.</summary>
    public static void Print(Packet packet, IAnsiConsole console)
    {
        console.MarkupLine($"[bold]{Markup.Escape(PacketWords.Visible($"{packet.Title}, month {packet.Month}"))}[/]");
        console.WriteLine($"As known at {InstantPattern.ExtendedIso.Format(packet.Known)}, through event {packet.ThroughSequence}.");
        Whole(console, $"SHA-256 of the packet as JSON: {PacketJson.Digest(packet)}");
        console.WriteLine();
        console.MarkupLine($"[bold]{Markup.Escape(PacketWords.Verdict(packet))}[/]");
        if (!packet.Checks.IsEmpty) { console.Write(Checks(packet)); }
        foreach (var report in packet.Reports) { Print(report, console); }
        console.WriteLine();
        console.WriteLine(PacketWords.Caution);
    }

    /// <summary>Prints one report with its note and the commands that list the events behind it.</summary>
    public static void Print(Report report, IAnsiConsole console)
    {
        console.WriteLine();
        console.MarkupLine($"[bold]{Markup.Escape(report.Title)}[/]");
        if (report.Rows.IsEmpty) { console.WriteLine("Nothing to report."); }
        foreach (var (part, table) in report.Rows.IsEmpty ? [] : ReportTable.Of(report, console.Profile.Width).Index())
        {
            if (part > 0) { console.WriteLine($"{report.Title}, continued"); }
            console.Write(table);
        }

        if (report.Note is { } note) { console.WriteLine($"Note: {note}"); }
        var evidence = EvidenceLines.Of(report);
        if (evidence.Count > 0) { console.WriteLine("The events behind a line:"); }
        foreach (var line in evidence) { Whole(console, $"  {line}"); }
    }

    private static Table Checks(Packet packet)
    {
        var table = AccountPrinter.Plain().AddColumns("check", "result", "detail");
        foreach (var check in packet.Checks)
        {
            var style = check.Passed ? Style.Plain : new Style(decoration: Decoration.Bold);
            table.AddRow(
                new Text(check.Name, style), new Text(PacketWords.Result(check), style), new Text(PacketWords.Visible(check.Detail), style));
        }

        return table;
    }

    /// <summary>A line that somebody will copy is not broken by us, however narrow the terminal.</summary>
    private static void Whole(IAnsiConsole console, string line) => console.Profile.Out.Writer.WriteLine(line);
}
