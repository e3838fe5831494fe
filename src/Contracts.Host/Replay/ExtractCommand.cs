using System.CommandLine;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Replay;

/// <summary>`contracts extract`: an account or a sample as a command file with expected figures, everybody in it a stranger.</summary>
public static class ExtractCommand
{
    /// <summary>The command with its argument and options.</summary>
    public static Command Build()
    {
        var contract = new Argument<string?>("contract") { Description = "The contract's id.", Arity = ArgumentArity.ZeroOrOne };
        var sample = new Option<int?>("--sample") { Description = "So many contracts in its place, evenly from all of them." };
        var output = new Option<FileInfo>("--out") { Description = "The command file to write; its expected figures go beside it.", Required = true };
        var file = ReplaySource.FileOption();
        var on = CommonOptions.On();
        var command = new Command(
            "extract", "Take an account or a sample away as a command file with expected figures, with other names for everybody and everything that somebody typed.")
        {
            contract, sample, output, file, on,
        };
        command.SetAction((parse, stop) =>
        {
            var (id, count) = (parse.GetValue(contract), parse.GetValue(sample));
            if ((id is null) == (count is null)) { throw new UsageException("Name a contract, or say --sample N."); }
            if (count is <= 0 or > 1000) { throw new UsageException("A sample has 1 to 1000 contracts."); }
            return ReplayRun.OnAsync(
                parse, parse.GetValue(file), null, (null, parse.GetValue(on)),
                async (source, _) =>
                {
                    var histories = id is null ? await SampleAsync(source, count!.Value, stop).ConfigureAwait(false)
                        : await source.HistoryAsync(id, stop).ConfigureAwait(false) is { IsSigned: true } one ? [one] : [];
                    if (histories.Count == 0)
                    {
                        Console.Error.WriteLine(Problem.Json(ComparedViews.Unknown(id ?? "")));
                        return ExitCodes.Refused;
                    }

                    return Write(source, histories, parse.GetRequiredValue(output).FullName);
                },
                stop);
        });
        return command;
    }

    private static int Write(ReplaySource source, List<ContractHistory> histories, string path)
    {
        try
        {
            var (lines, views) = Extract.Of(histories, source.Reference, source.Today);
            var differ = Extract.Differing(ReplaySource.Obey(lines, path), views).Select(one => one.Expected).ToList();
            if (differ.Count == 0)
            {
                File.WriteAllBytes(path, lines);
                File.WriteAllBytes(Extract.ExpectedOf(path), Extract.Text(views));
            }
            else { Console.Error.WriteLine($"contracts: nothing is written: {differ.Count} of {views.Count} views do not come out of the commands."); }

            Console.Out.WriteLine(AccountPrinter.Json(json =>
            {
                json.WriteStartObject();
                json.WriteNumber("contracts", histories.Count);
                json.WriteNumber("commands", lines.AsSpan().Count((byte)'\n'));
                json.WriteNumber("views", views.Count);
                json.WriteBoolean("replaysTheSame", differ.Count == 0);
                json.WriteEndObject();
            }));
            return differ.Count == 0 ? ExitCodes.Done : ExitCodes.Failed;
        }
        catch (RefusedLineException refused)
        {
            // An account of which today's rules would refuse a command, such as one signed before a limit was known.
            Console.Error.WriteLine($"contracts: the account was recorded under other rules and cannot be taken away as commands: {refused.Message}");
            return ExitCodes.Failed;
        }
    }

    private static async Task<List<ContractHistory>> SampleAsync(ReplaySource source, int count, CancellationToken stop)
    {
        // Two readings, so that only the sample is kept.
        var all = 0;
        await foreach (var _ in source.MapAsync(static history => history.IsSigned, stop).ConfigureAwait(false)) { all++; }
        var every = Math.Max(1, all / count);
        var sample = new List<ContractHistory>(count);
        var number = 0;
        await foreach (var history in source.MapAsync(static history => history, stop).ConfigureAwait(false))
        {
            if (number++ % every == 0 && sample.Count < count && history.IsSigned) { sample.Add(history); }
        }

        return sample;
    }
}
