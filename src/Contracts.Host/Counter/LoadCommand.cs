using System.CommandLine;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Running;
using Contracts.Host.Terminal;

namespace Contracts.Host.Counter;

/// <summary>`contracts load`: applies command files, line by line.</summary>
public static class LoadCommand
{
    public static Command Build()
    {
        var files = new Argument<string[]>("file")
        {
            Description = "Command files in JSON Lines; - reads standard input.",
            Arity = ArgumentArity.OneOrMore,
        };
        files.Validators.Add(result =>
        {
            foreach (var token in result.Tokens)
            {
                if (token.Value.StartsWith("--", StringComparison.Ordinal)) { result.AddError($"There is no option {token.Value}."); }
                if (token.Value.Length == 0) { result.AddError("A file needs a name."); }
            }
        });
        var stopOnRefusal = new Option<bool>("--stop-on-refusal") { Description = "Stop at the first refused line; what came before stays." };
        var command = new Command("load", "Apply command files. A line already applied changes nothing; a refused line is named and left out.")
        {
            files, CommonOptions.SimulatedClock, stopOnRefusal,
        };
        command.SetAction((parse, stop) =>
        {
            var simulated = parse.GetValue(CommonOptions.SimulatedClock);
            return Session.RunAsync(
                parse, simulated,
                async session =>
                {
                    // Nothing is applied when a file of the list is not there: a typing error should not leave half the work done.
                    if (parse.GetRequiredValue(files).FirstOrDefault(file => file != "-" && !File.Exists(file)) is { } missing)
                    {
                        throw new FileNotFoundException($"There is no file {missing}; nothing was applied.");
                    }

                    await using var bus = await CommandBus.StartAsync(session.Store, stop).ConfigureAwait(false);
                    var loader = new FileLoader(bus, parse.GetValue(stopOnRefusal), Progress.ToStandardError());
                    try
                    {
                        foreach (var file in parse.GetRequiredValue(files))
                        {
                            if (!await loader.LoadAsync(file, stop).ConfigureAwait(false)) { break; }
                        }
                    }
                    finally
                    {
                        // Also when the store failed half way: whoever loads has to know how far it came.
                        Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, loader.Summary)));
                    }

                    return loader.Summary.Refused.Count > 0 ? ExitCodes.Refused : ExitCodes.Done;
                },
                stop);
        });
        return command;
    }

    private static void Write(Utf8JsonWriter json, LoadSummary summary)
    {
        json.WriteStartObject();
        json.WriteNumber("applied", summary.Applied);
        json.WriteNumber("already", summary.Already);
        json.WriteStartArray("refused");
        foreach (var line in summary.Refused)
        {
            json.WriteStartObject();
            json.WriteString("file", line.File);
            json.WriteNumber("line", line.Line);
            json.WriteString("code", line.Refusal.Slug);
            json.WriteString("detail", line.Refusal.Detail);
            if (line.Refusal.Field is { } field) { json.WriteString("field", field); }
            if (line.Refusal.RightFigure is { } figure) { json.WriteString("rightFigure", figure); }
            if (line.Refusal.Citation is { } citation) { json.WriteString("citation", citation); }
            json.WriteEndObject();
        }

        json.WriteEndArray();
        if (summary.NotListed > 0) { json.WriteNumber("notListed", summary.NotListed); }
        json.WriteEndObject();
    }
}
