using System.CommandLine;
using System.Text.Json;
using System.Text.Json.Nodes;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Replays;
using NodaTime.Text;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Replay;

/// <summary>`contracts replay`: lives a command file in memory and holds it against the figures expected of it.</summary>
public static class ReplayCommand
{
    private const int Differs = 1;

    /// <summary>The command with its argument.</summary>
    public static Command Build()
    {
        var file = new Argument<FileInfo>("file") { Description = "A command file; figures expected of it are read from the file of the same name with .expected." };
        var command = new Command(
            "replay", "Live a command file without a database: exit 0 when the expected figures come out, 1 when others do, 125 when it cannot be told.") { file };
        command.SetAction((parse, _) => ReplayRun.TellingAsync(() =>
        {
            var lines = parse.GetRequiredValue(file);
            if (!lines.Exists) { throw new UsageException($"There is no file {lines.Name}."); }
            var format = CommonOptions.ParseFormat(parse.GetValue(CommonOptions.Format)) ?? throw new UsageException("--format is one of table, json, jsonl, csv.");
            try
            {
                var shop = ReplaySource.Obey(File.ReadAllBytes(lines.FullName), lines.Name);
                var expected = Extract.ExpectedOf(lines.FullName);
                return Task.FromResult(File.Exists(expected) ? Compare(shop, Extract.Read(expected), format) : Print(shop));
            }
            catch (RefusedLineException refused)
            {
                // Where the file once was obeyed, a refusal is a difference like any other.
                Console.Error.WriteLine($"contracts: {refused.Message}");
                return Task.FromResult(File.Exists(Extract.ExpectedOf(lines.FullName)) ? Differs : ReplayRun.CannotTell);
            }
        }));
        return command;
    }

    private static int Print(MemoryShop shop)
    {
        var today = shop.Last.InZone(Session.Zone).Date;
        foreach (var history in shop.Histories)
        {
            if (History.AccountFold.At(history, shop.Reference.Last, today) is not { } state) { continue; }
            Console.Out.WriteLine(AccountPrinter.Json(json => Disclosures.AccountJson.Write(json, Disclosures.Account.Of(state, shop.Last))));
        }

        return ExitCodes.Done;
    }

    private static int Compare(MemoryShop shop, IReadOnlyList<ExpectedView> views, OutputFormat format)
    {
        var differing = Extract.Differing(shop, views).ToList();
        if (format == OutputFormat.Table)
        {
            foreach (var (view, now) in differing)
            {
                Console.Out.WriteLine($"{view.Contract} on {LocalDatePattern.Iso.Format(view.On)}, known {InstantPattern.ExtendedIso.Format(view.Known)}");
                foreach (var (figure, then, is1) in Figures(view.Account, now)) { Console.Out.WriteLine($"    {figure,-28} expected {then,12}  now {is1,12}"); }
            }

            Console.Out.WriteLine(differing.Count == 0 ? $"{views.Count} views, all as expected" : $"{views.Count} views, {differing.Count} otherwise");
        }
        else { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, views.Count, differing))); }

        return differing.Count == 0 ? ExitCodes.Done : Differs;
    }

    private static void Write(Utf8JsonWriter json, int views, List<(ExpectedView Expected, JsonObject? Now)> differing)
    {
        json.WriteStartObject();
        json.WriteBoolean("same", differing.Count == 0);
        json.WriteNumber("views", views);
        json.WriteStartArray("differ");
        foreach (var (view, now) in differing)
        {
            json.WriteStartObject();
            json.WriteString("contract", view.Contract);
            json.WriteString("on", LocalDatePattern.Iso.Format(view.On));
            json.WriteString("known", InstantPattern.ExtendedIso.Format(view.Known));
            json.WriteStartArray("figures");
            foreach (var (figure, then, is1) in Figures(view.Account, now))
            {
                json.WriteStartObject();
                json.WriteString("figure", figure);
                json.WriteString("expected", then);
                json.WriteString("now", is1);
                json.WriteEndObject();
            }

            json.WriteEndArray();
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    /// <summary>The figures that differ, by their paths.</summary>
    private static IEnumerable<(string Figure, string Expected, string Now)> Figures(JsonObject? expected, JsonObject? now)
    {
        var (was, here) = (new SortedDictionary<string, string>(StringComparer.Ordinal), new SortedDictionary<string, string>(StringComparer.Ordinal));
        Flatten(expected, "", was);
        Flatten(now, "", here);
        foreach (var figure in was.Keys.Union(here.Keys).Order(StringComparer.Ordinal))
        {
            var (then, is1) = (was.GetValueOrDefault(figure, ""), here.GetValueOrDefault(figure, ""));
            if (then != is1) { yield return (figure, then, is1); }
        }
    }

    private static void Flatten(JsonNode? node, string path, SortedDictionary<string, string> into)
    {
        switch (node)
        {
            case JsonObject one: foreach (var (name, value) in one) { Flatten(value, path.Length == 0 ? name : $"{path}.{name}", into); } break;
            case JsonArray list: for (var index = 0; index < list.Count; index++) { Flatten(list[index], $"{path}[{index}]", into); } break;
            case null: into[path] = "none"; break;
            default: into[path] = node.ToString(); break;
        }
    }
}
