using System.CommandLine;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Terminal;
using Contracts.Quotes;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Quoting;

/// <summary>`contracts quote`: what renting, buying early, returning and buying outright cost a family, month by month.</summary>
public static class QuoteCommand
{
    private static readonly string[] Pictures = [".svg", ".png"];

    public static Command Build()
    {
        var file = new Argument<string?>("file") { Description = "A JSON file with state, jurisdiction, startOn and terms; - reads standard input.", Arity = ArgumentArity.ZeroOrOne };
        var known = CommonOptions.Known();
        var curve = new Option<string?>("--curve") { Description = "Also draw the figures into this file, .svg or .png." };
        curve.Validators.Add(result =>
        {
            if (!Pictures.Contains(Path.GetExtension(result.GetValueOrDefault<string?>() ?? ""))) { result.AddError("--curve names a file that ends in .svg or .png."); }
        });
        var command = new Command("quote", "What renting really costs: to term, bought early, returned, bought outright, at each due date.") { file, known, curve };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (_, moment) = await session.ViewAsync(null, parse.GetValue(known), stop).ConfigureAwait(false);
                var bytes = await BytesAsync(parse.GetValue(file) ?? throw new UsageException("quote needs a file."), stop).ConfigureAwait(false);
                var (offer, refusal) = QuoteReader.Read(bytes);
                var rates = await session.Store.Reader.RatesAsync(moment, stop).ConfigureAwait(false);
                refusal ??= QuoteMaker.Fault(offer!, rates);
                if (refusal is not null) { return session.Refuse(refusal); }
                Tell(QuoteMaker.Make(offer!, rates, []), session.Format, parse.GetValue(curve));
                return ExitCodes.Done;
            },
            stop));
        return command;
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
