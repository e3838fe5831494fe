using System.CommandLine;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;

namespace Contracts.Host.Replay;

/// <summary>`contracts rebuild`: builds the read models again from the events and says what differed.</summary>
public static class RebuildCommand
{
    public static Command Build()
    {
        var projection = new Argument<string>("projection")
        {
            Description = "Which read model: placements or books. All when left out.",
            DefaultValueFactory = _ => "all",
        };
        projection.AcceptOnlyFromAmong("all", "placements", "books");
        var command = new Command("rebuild", "Build read models again from the events, and compare them with what was there.") { projection };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var which = parse.GetRequiredValue(projection);
                IReadOnlyList<Store.PlacementDifference> differences =
                    which == "books" ? [] : await session.Store.Placements.RebuildAsync(stop).ConfigureAwait(false);
                var cells = which == "placements" ? 0 : await session.Store.BookAudit.RebuildAsync(stop).ConfigureAwait(false);
                Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, which, differences, cells)));
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static void Write(
        Utf8JsonWriter json, string projection, IReadOnlyList<Store.PlacementDifference> differences, int cells)
    {
        json.WriteStartObject();
        json.WriteString("projection", projection);
        json.WriteBoolean("same", differences.Count == 0 && cells == 0);
        json.WriteNumber("cellsThatDiffered", cells);
        json.WriteStartArray("differences");
        foreach (var difference in differences)
        {
            json.WriteStartObject();
            json.WriteString("contract", difference.Contract);
            json.WriteString("detail", difference.Detail);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
