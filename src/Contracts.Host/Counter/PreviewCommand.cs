using System.CommandLine;
using Contracts.Commands;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using NodaTime.Text;
using Spectre.Console;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Counter;

/// <summary>`contracts preview`: what a command would do, or why it would be refused; nothing is recorded.</summary>
public static class PreviewCommand
{
    /// <summary>The command: a file with one line of a command file, and what is known.</summary>
    public static Command Build()
    {
        var file = new Argument<string>("file") { Description = "One command as a command file has it, its key left out or not; - reads standard input." };
        var known = CommonOptions.KnownOrCheckpoint();
        var command = new Command("preview", "What a command would do: its events in words, the figures before and after, or the refusal. Nothing is recorded.") { file, known };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (await session.ViewOrCheckpointAsync(null, parse.GetValue(known), stop).ConfigureAwait(false) is not { Known: var moment }) { return ExitCodes.Refused; }
                var (read, refusal) = CommandPreview.Read(await BytesAsync(parse.GetRequiredValue(file), stop).ConfigureAwait(false));
                if (read is null) { return session.Refuse(refusal!); }
                (var preview, refusal) = await CommandPreview.OfAsync(session.Store, read, moment, stop).ConfigureAwait(false);
                if (preview is null) { return session.Refuse(refusal!); }
                Print(preview, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static void Print(CommandPreview preview, OutputFormat format)
    {
        if (format != OutputFormat.Table)
        {
            Console.Out.WriteLine(preview.Json());
            return;
        }

        AnsiConsole.WriteLine($"{preview.Contract}: {preview.Name} on {LocalDatePattern.Iso.Format(preview.On)} would record, and has not:");
        foreach (var line in preview.Happens)
        {
            AnsiConsole.WriteLine($"  {LocalDatePattern.Iso.Format(line.Entry.Event.On)}  {line.What}{(line.Money is { } money ? $", {money}" : "")}");
        }

        var table = AccountPrinter.Plain().AddColumn($"figure, on {LocalDatePattern.Iso.Format(preview.FiguresOn)}")
            .AddColumn(new TableColumn("before").RightAligned()).AddColumn(new TableColumn("after").RightAligned());
        foreach (var one in preview.Figures) { table.AddRow(Markup.Escape(one.Figure), Markup.Escape(one.Then), Markup.Escape(one.Now)); }
        AnsiConsole.Write(table);
    }

    /// <summary>The file, and no more of it than is refused as too long.</summary>
    private static async Task<ReadOnlyMemory<byte>> BytesAsync(string path, CancellationToken stop)
    {
        var room = new byte[CommandReader.LongestLine + 1];
        await using var stream = path == "-" ? Console.OpenStandardInput() : File.OpenRead(path);
        var length = await stream.ReadAtLeastAsync(room, room.Length, throwOnEndOfStream: false, stop).ConfigureAwait(false);
        return room.AsMemory(0, length);
    }
}
