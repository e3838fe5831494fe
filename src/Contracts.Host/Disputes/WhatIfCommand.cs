using System.CommandLine;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Terminal;

namespace Contracts.Host.Disputes;

/// <summary>`contracts what-if`: an account as it would be, had one thing of its history been otherwise; nothing is recorded.</summary>
public static class WhatIfCommand
{
    private const string Usage =
        "Say what is supposed by a file, or by one of --remove KEY, --redate KEY --to DAY, --change KEY --with FIELDS and --law PACK.";

    /// <summary>The command with its options.</summary>
    public static System.CommandLine.Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var file = new Argument<string?>("file") { Description = "A JSON object that says what is supposed; - reads standard input.", Arity = ArgumentArity.ZeroOrOne };
        var remove = new Option<string?>("--remove") { Description = "The fact with this key had never been." };
        var redate = new Option<string?>("--redate") { Description = "The fact with this key had been of another day; --to says which." };
        var to = new Option<string?>("--to") { Description = "The day, such as 2026-11-12." };
        var change = new Option<string?>("--change") { Description = "The fact with this key had been otherwise; --with says how." };
        var with = new Option<string?>("--with") { Description = "The fields of its command that had been otherwise, as a JSON object." };
        var law = new Option<string?>("--law") { Description = "It had been signed under this law pack, such as NY.1." };
        var corrections = new Option<string?>("--corrections") { Description = "Writes the commands that bring the real account there to a command file." };
        var (on, known) = (CommonOptions.On(), CommonOptions.KnownOrCheckpoint());
        const string says =
            "An account as it would be, had one thing of its history been otherwise, and the commands that bring the real one there. Nothing is recorded.";
        var command = new System.CommandLine.Command("what-if", says)
        {
            contract, file, remove, redate, to, change, with, law, on, known, corrections,
        };
        command.Validators.Add(result =>
        {
            if (result.GetValue(corrections) is not null && result.GetValue(known) is not null) { result.AddError("--corrections are of what is known now: not with --known."); }
        });
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var options = new Dictionary<string, string?>(StringComparer.Ordinal)
                {
                    ["remove"] = parse.GetValue(remove), ["redate"] = parse.GetValue(redate), ["on"] = parse.GetValue(to), ["change"] = parse.GetValue(change),
                    ["with"] = parse.GetValue(with), ["law"] = parse.GetValue(law),
                };
                var path = parse.GetValue(file);
                if ((path is null) == options.Values.All(value => value is null)) { return session.Refuse(new Refusal(RefusalCode.FieldMissing, Usage, "file")); }
                if (await session.ViewOrCheckpointAsync(parse.GetValue(on), parse.GetValue(known), stop).ConfigureAwait(false) is not { } view) { return ExitCodes.Refused; }
                var supposed = path is null ? Encoding.UTF8.GetBytes(Text(options)) : await BytesAsync(path, stop).ConfigureAwait(false);
                var (look, refusal) = await WhatIfLook.OfAsync(
                    session.Store, parse.GetRequiredValue(contract), supposed, view.On, view.Known, parse.GetValue(known) is null, stop).ConfigureAwait(false);
                if (look is null) { return session.Refuse(refusal!); }
                WhatIfPrinter.Print(look, session.Format);
                if (parse.GetValue(corrections) is { } place) { await File.WriteAllTextAsync(place, look.CommandFile(), stop).ConfigureAwait(false); }
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>The options as the object that a file would say; what stands in `--with` is an object already.</summary>
    private static string Text(Dictionary<string, string?> options)
    {
        var json = new JsonObject();
        foreach (var (name, value) in options)
        {
            if (value is not null && name != "with") { json[name] = value; }
        }

        var text = json.ToJsonString();
        return options["with"] is { } with ? $"{text[..^1]}{(json.Count > 0 ? "," : "")}\"with\":{with}}}" : text;
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
