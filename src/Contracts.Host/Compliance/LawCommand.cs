using System.CommandLine;
using System.Globalization;
using System.Text;
using Contracts.Agreements;
using Contracts.Host.Running;
using Contracts.Host.Terminal;
using Contracts.Law;
using Contracts.Store;
using NodaTime;
using NodaTime.Text;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Compliance;

/// <summary>`contracts law`: what law is loaded, how it was verified, and taking over a pack that counsel has gone through.</summary>
public static class LawCommand
{
    public static Command Build() => new("law", "The law that is loaded, state by state: cited, dated, and how it was verified. Not legal advice.")
    {
        List(), Show(), Check(), Adopt(),
    };

    private static Command List()
    {
        var command = new Command("list", "Every law pack that is known: its version, how its text was verified, how many rules it has.");
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var book = (await session.Store.Reader.RatesAsync(Instant.MaxValue, stop).ConfigureAwait(false)).Law;
                LawPrinter.List(LawBook.Jurisdictions.SelectMany(code => Known(book, code)).ToList(), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Show()
    {
        var code = new Argument<string>("jurisdiction") { Description = "A state's postal code such as NY, or US-REGM." };
        var version = new Option<int?>("--version-of-pack") { Description = "An earlier version; the last one when left out." };
        var file = new Option<bool>("--file") { Description = "Print the pack's file as it is, to be read by counsel or changed." };
        var command = new Command("show", "Every rule of one pack with its section, how it was verified, and what was not read.") { code, version, file };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var book = (await session.Store.Reader.RatesAsync(Instant.MaxValue, stop).ConfigureAwait(false)).Law;
                var wanted = parse.GetValue(version);
                var pack = Known(book, parse.GetRequiredValue(code)).LastOrDefault(pack => wanted is null || pack.Version == wanted);
                if (pack is null)
                {
                    return session.Refuse(new Refusal(RefusalCode.StateUnknown, $"No law pack is known for '{parse.GetValue(code)}'.", "jurisdiction"));
                }

                if (parse.GetValue(file)) { Console.Out.Write(Encoding.UTF8.GetString(pack.File.Span)); }
                else { LawPrinter.Show(pack, session.Format); }
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Check()
    {
        var file = new Argument<FileInfo>("file") { Description = "A law pack's file." };
        var command = new Command("check", "Read a law pack's file and name everything that keeps it from being adopted: file, rule and field.") { file };
        command.SetAction(async (parse, stop) =>
        {
            var source = parse.GetRequiredValue(file);
            if (!source.Exists) { throw new UsageException($"There is no file {source.Name}."); }
            var (pack, faults) = LawPackReader.Read(await File.ReadAllBytesAsync(source.FullName, stop).ConfigureAwait(false), source.Name);
            foreach (var fault in faults) { await Console.Error.WriteLineAsync($"{fault.File}: {fault.Rule}: {fault.Field} {fault.Detail}").ConfigureAwait(false); }
            if (pack is null) { return ExitCodes.Refused; }
            await Console.Out.WriteLineAsync(string.Create(CultureInfo.InvariantCulture, $"{pack.Reference}: {pack.Rules.Length} rules, no fault")).ConfigureAwait(false);
            return ExitCodes.Done;
        });
        return command;
    }

    private static Command Adopt()
    {
        var file = new Argument<FileInfo>("file") { Description = "A law pack's file with a version that is not known yet." };
        var note = new Option<string?>("--counsel-note") { Description = "What counsel said of it; lifts the refusal to sign where a state takes such deals for credit sales." };
        var by = new Option<string?>("--by") { Description = "Who adopts it." };
        var command = new Command("adopt", "Take over a law pack for contracts signed from now on; those signed before keep theirs.") { file, note, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var source = parse.GetRequiredValue(file);
                if (!source.Exists) { throw new UsageException($"There is no file {source.Name}."); }
                var text = await File.ReadAllTextAsync(source.FullName, new UTF8Encoding(false), stop).ConfigureAwait(false);
                var now = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
                var origin = new CommandOrigin($"law:{source.Name}:{InstantPattern.ExtendedIso.Format(now)}", parse.GetValue(by), null);
                await using var bus = await CommandBus.StartAsync(session.Store, stop).ConfigureAwait(false);
                var adopt = new Agreements.Command.AdoptLaw(text, parse.GetValue(note)) { Origin = origin };
                var results = await bus.ApplyAsync([new CommandRequest(adopt, null)], stop).ConfigureAwait(false);
                if (results[0] is CommandResult.Refused refused) { return session.Refuse(refused.Refusal); }
                Console.Out.WriteLine("adopted; contracts signed before keep the pack they have.");
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    /// <summary>The packs of a jurisdiction: the supplied one first, then those adopted, the last of which is in force.</summary>
    internal static IEnumerable<LawPack> Known(LawBook book, string code)
    {
        if (LawBook.SuppliedFor(code) is { } supplied) { yield return supplied; }
        foreach (var adopted in book.Adopted(code)) { yield return adopted.Pack; }
    }
}
