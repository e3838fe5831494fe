using System.CommandLine;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Terminal;
using Contracts.Quotes;
using NodaTime;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Quoting;

/// <summary>`contracts quote`: what renting, buying early, returning and buying outright cost a family, month by month.</summary>
public static class QuoteCommand
{
    private static readonly string[] Pictures = [".svg", ".png"];

    public static Command Build()
    {
        var file = new Argument<string?>("file")
        {
            Description = "A JSON file with state, jurisdiction, startOn and terms; - reads standard input.",
            Arity = ArgumentArity.ZeroOrOne,
        };
        var again = new Option<string?>("--again") { Description = "A recorded quote, such as Q-1: made again of what was known when it was given." };
        var known = CommonOptions.Known();
        var curve = new Option<string?>("--curve") { Description = "Also draw the figures into this file, .svg or .png." };
        curve.Validators.Add(result =>
        {
            if (!Pictures.Contains(Path.GetExtension(result.GetValueOrDefault<string?>() ?? ""))) { result.AddError("--curve names a file that ends in .svg or .png."); }
        });
        var command = new Command("quote", "What renting really costs: to term, bought early, returned, bought outright, at each due date.") { file, again, known, curve };
        command.Validators.Add(result =>
        {
            if (result.GetValue(file) is null == result.GetValue(again) is null) { result.AddError("quote needs a file, or --again and the name of a recorded quote."); }
        });
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (_, moment) = await session.ViewAsync(null, parse.GetValue(known), stop).ConfigureAwait(false);
                var picture = parse.GetValue(curve);
                return parse.GetValue(again) is { } name
                    ? await AgainAsync(session, name, moment, picture, stop).ConfigureAwait(false)
                    : await NewAsync(session, parse.GetRequiredValue(file)!, moment, picture, stop).ConfigureAwait(false);
            },
            stop));
        return command;
    }

    private static async Task<int> NewAsync(Session session, string file, Instant known, string? curve, CancellationToken stop)
    {
        var (offer, refusal) = QuoteReader.Read(await BytesAsync(file, stop).ConfigureAwait(false));
        if (offer is null) { return session.Refuse(refusal!); }
        var rates = await session.Store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        if (QuoteMaker.Fault(offer, rates) is { } fault) { return session.Refuse(fault); }
        Tell(QuoteMaker.Make(offer, rates), session.Format, curve);
        return ExitCodes.Done;
    }

    private static async Task<int> AgainAsync(Session session, string name, Instant known, string? curve, CancellationToken stop)
    {
        if (await session.Store.Quotes.FindAsync(name, known, stop).ConfigureAwait(false) is not { } recorded)
        {
            return session.Refuse(new Refusal(RefusalCode.QuoteUnknown, $"No quote '{name}' was given.", "quote"));
        }

        var (quote, isSame) = await session.Store.Quotes.MakeAgainAsync(recorded, stop).ConfigureAwait(false);
        Tell(quote, session.Format, curve);
        await Console.Error.WriteLineAsync(isSame
            ? "The same quote as was given, to the byte."
            : "NOT the quote that was given: what is stored, or how a quote is made, has changed since.").ConfigureAwait(false);
        return isSame ? ExitCodes.Done : ExitCodes.Failed;
    }

    private static void Tell(Quote quote, OutputFormat format, string? curve)
    {
        if (curve is not null) { QuoteCurve.Draw(quote, curve); }
        QuotePrinter.Print(quote, format);
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
