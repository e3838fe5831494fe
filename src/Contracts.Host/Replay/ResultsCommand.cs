using System.CommandLine;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;

namespace Contracts.Host.Replay;

/// <summary>`contracts results`: writes down what this build makes of all history, for another build to be held against.</summary>
public static class ResultsCommand
{
    /// <summary>The command with its options.</summary>
    public static Command Build()
    {
        var output = new Option<FileInfo>("--out") { Description = "Where to write; a name that ends in .gz is compressed.", Required = true };
        var file = ReplaySource.FileOption();
        var law = ReplaySource.LawOption();
        var on = CommonOptions.On();
        var known = CommonOptions.Known();
        var command = new Command("results", "Live all history by this build and write down figures and postings after every event, for `differ`.")
        {
            output, file, law, on, known,
        };
        command.SetAction((parse, stop) => ReplayRun.OnAsync(
            parse, parse.GetValue(file), parse.GetValue(law), (parse.GetValue(known)?.In(Session.Zone), parse.GetValue(on)),
            async (source, _) =>
            {
                var path = parse.GetRequiredValue(output).FullName;
                var (contracts, events) = await ResultsFile.WriteAsync(source, path, stop).ConfigureAwait(false);
                Console.Out.WriteLine(AccountPrinter.Json(json =>
                {
                    json.WriteStartObject();
                    json.WriteNumber("contracts", contracts);
                    json.WriteNumber("events", events);
                    json.WriteNumber("bytes", new FileInfo(path).Length);
                    json.WriteEndObject();
                }));
                return ExitCodes.Done;
            },
            stop));
        return command;
    }
}
