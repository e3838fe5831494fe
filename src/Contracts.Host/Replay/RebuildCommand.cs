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
            Description = "Which read model: placements. All when left out.",
            DefaultValueFactory = _ => "placements",
        };
        projection.AcceptOnlyFromAmong("placements");
        var command = new Command("rebuild", "Build read models again from the events, and compare them with what was there.") { projection };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var differences = await session.Store.Placements.RebuildAsync(stop).ConfigureAwait(false);
                Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, differences)));
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static void Write(Utf8JsonWriter json, IReadOnlyList<Store.PlacementDifference> differences)
    {
        json.WriteStartObject();
        json.WriteString("projection", "placements");
        json.WriteBoolean("same", differences.Count == 0);
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
