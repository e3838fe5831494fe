using System.Security.Cryptography;
using System.Text;
using System.Text.Json.Nodes;
using System.Xml.Linq;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Host.Tests.Support;
using Contracts.Quotes;
using Contracts.Store;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Quoting;

/// <summary>Quotes at the counter: printed, drawn, recorded, signed, and made again.</summary>
public sealed class QuoteCommandTests(Server server) : IDisposable
{
    private const string Offer =
        """ "state":"NY","jurisdiction":"J","startOn":"2026-09-05","terms":{"cashPrice":"300.00","purchasePrice":"300.00","introductory":{"months":1,"payment":"20.00"},"monthlyRent":"30.00","creditShare":"1.00"} """;

    private readonly string folder = Directory.CreateTempSubdirectory("contracts-quotes-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_quote_is_printed_for_a_family_a_sheet_and_a_program_and_drawn()
    {
        var database = await server.NewDatabaseAsync();
        await RunAsync(database, "load", await FileAsync(Lines.Tax), "--simulated-clock");
        var file = await FileAsync($"{{{Offer}, \"instrument\":{{\"kind\":\"[flute]\",\"serial\":\"HF-1\"}}}}");
        var json = JsonNode.Parse((await RunAsync(database, "quote", file)).Output)!;
        Assert.Equal((11, "21.60"), (json["months"]!.AsArray().Count, (string)json["months"]![0]!["paidSoFar"]!));
        var table = await RunAsync(database, "quote", file, "--format", "table");
        foreach (var words in new[] { "[flute] HF-1", "buy it today", "rent it to the end", "324.00", "yours", "vary by state", "held down by N.Y. Pers. Prop. Law § 504" })
        {
            Assert.Contains(words, table.Output, StringComparison.Ordinal);
        }

        var csv = (await RunAsync(database, "quote", file, "--format", "csv")).Output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal((12, 14), (csv.Length, csv[1].Split(',').Length));
        Assert.StartsWith("2026-09-05,20.00,0.00,1.60,21.60,20.00,", csv[1], StringComparison.Ordinal);
        await Drawn(database, file);
    }

    [Fact]
    public async Task A_quote_that_cannot_be_made_is_one_problem_and_wrong_usage_another_exit()
    {
        var database = await server.NewDatabaseAsync();
        var refused = await RunAsync(database, "quote", await FileAsync($"{{{Offer}}}"));
        Assert.Equal((ExitCodes.Refused, ""), (refused.Exit, refused.Output));
        var problem = JsonNode.Parse(refused.Error)!;
        Assert.Equal(("jurisdiction-unknown", "jurisdiction"), ((string)problem["code"]!, (string)problem["field"]!));
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, "quote", await FileAsync(new string(' ', 70_000)))).Exit);
        Assert.Equal(ExitCodes.Refused, (await RunAsync(database, "quote", "--again", "Q-9")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "quote")).Exit);
        Assert.Equal(ExitCodes.WrongUsage, (await RunAsync(database, "quote", "a.json", "--curve", "a.pdf")).Exit);
        Assert.Equal(ExitCodes.Failed, (await RunAsync(database, "quote", "/nowhere/at-all.json")).Exit);
    }

    [Fact]
    public async Task A_recorded_quote_is_listed_signed_and_made_again_as_known_then()
    {
        var database = await server.NewDatabaseAsync();
        // The new rate is recorded at the very instant of the quote, after it: the quote did not know it.
        const string later = """{"do":"set-tax","key":"t2","at":"2026-08-20T12:00:00Z","jurisdiction":"J","rate":"0.10","from":"2026-09-04","taxes":{"rent":true,"sale":true}}""";
        var loaded = await RunAsync(database, "load", await FileAsync(Lines.Tax, Quote("Q-1"), later, Quote("Q-1", "k-again"), Sign("C-1", "Q-1")), "--simulated-clock");
        var refused = Assert.Single(JsonNode.Parse(loaded.Output)!["refused"]!.AsArray());
        Assert.Equal("quote-already-given", (string)refused!["code"]!);

        var listed = Assert.Single(JsonNode.Parse((await RunAsync(database, "quotes")).Output)!.AsArray())!;
        Assert.Equal(("Q-1", "signed", "C-1", "clerk 2"), ((string)listed["quote"]!, (string)listed["status"]!, (string)listed["contracts"]![0]!, (string)listed["by"]!));
        var again = await RunAsync(database, "quote", "--again", "Q-1");
        Assert.Equal(ExitCodes.Done, again.Exit);
        Assert.Equal((string)listed["digest"]!, Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(again.Output))));
        Assert.Equal("1.60", (string)JsonNode.Parse(again.Output)!["installments"]![0]!["tax"]!);
        Assert.Equal(again.Output, (await RunAsync(database, "quote", await FileAsync($"{{{Offer}}}"), "--known", "2026-08-19")).Output);

        var history = (await RunAsync(database, "history", "C-1")).Output;
        Assert.Contains("as quoted in Q-1", history, StringComparison.Ordinal);
        var check = JsonNode.Parse((await RunAsync(database, "check")).Output)!;
        Assert.Equal((true, 1), ((bool)check["ok"]!, (int)check["checked"]!["quotes"]!));
        Assert.Equal("[]", (await RunAsync(database, "quotes", "--known", "2026-08-19")).Output.Trim());
    }

    [Fact]
    public async Task A_quote_changed_in_the_database_is_found()
    {
        var database = await server.NewDatabaseAsync();
        await RunAsync(database, "load", await FileAsync(Lines.Tax, Quote("Q-1")), "--simulated-clock");
        await using var source = NpgsqlDataSource.Create(database);
        await using (var command = source.CreateCommand(
            """update contracts.mt_events set data = jsonb_set(data, '{terms,monthlyRent}', '"29.00"') where stream_id = 'quote:Q-1'"""))
        {
            await command.ExecuteNonQueryAsync();
        }

        Assert.Equal(ExitCodes.Failed, (await RunAsync(database, "quote", "--again", "Q-1")).Exit);
        var check = JsonNode.Parse((await RunAsync(database, "check")).Output)!;
        Assert.Equal(("quote-differs", "quote:Q-1"), ((string)check["faults"]![0]!["kind"]!, (string)check["faults"]![0]!["stream"]!));
    }

    [Fact]
    public async Task A_quote_is_given_once_however_many_ask_and_a_signing_finds_it_in_another_process()
    {
        var database = await server.NewDatabaseAsync();
        await using var one = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await using var two = await ContractsStore.OpenAsync(database, new StoreSettings(Server.Zone, true));
        await one.ApplyAsync(Lines.Tax);
        var answers = await Task.WhenAll(Enumerable.Range(0, 8).Select(ask => (ask % 2 == 0 ? one : two).ApplyAsync(Quote("Q-1", $"k{ask}"))));
        Assert.Single(answers, answer => answer[0] is CommandResult.Applied);
        Assert.All(
            answers.Select(answer => answer[0]).OfType<CommandResult.Refused>(),
            refused => Assert.Equal(RefusalCode.QuoteAlreadyGiven, refused.Refusal.Code));
        Assert.IsType<CommandResult.Applied>((await two.ApplyAsync(Sign("C-1", "Q-1")))[0]);
        var changed = Assert.IsType<CommandResult.Refused>((await one.ApplyAsync(Sign("C-2", "Q-1", rent: "31.00")))[0]).Refusal;
        Assert.Equal((RefusalCode.QuoteDiffers, "terms.monthlyRent", "30.00"), (changed.Code, changed.Field, changed.RightFigure));
        Assert.Equal(1, await one.Reader.CountAsync());
        var recorded = (await one.Quotes.FindAsync("Q-1", await one.Reader.NowAsync()))!;
        Assert.Equal(QuoteJson.Form, recorded.Given.Form);
        Assert.Equal(["C-1"], recorded.Contracts);
    }

    private async Task Drawn(string database, string file)
    {
        var (svg, again, png) = (Path.Combine(folder, "a.svg"), Path.Combine(folder, "b.svg"), Path.Combine(folder, "a.png"));
        foreach (var picture in new[] { svg, again, png }) { Assert.Equal(ExitCodes.Done, (await RunAsync(database, "quote", file, "--curve", picture)).Exit); }
        Assert.Equal(await File.ReadAllBytesAsync(svg), await File.ReadAllBytesAsync(again));
        // The two may have been drawn by one process or by two: in either case a drawing counts its own clips.
        Assert.Contains("id=\"cl_0\"", await File.ReadAllTextAsync(again), StringComparison.Ordinal);
        var drawing = XDocument.Load(svg);
        Assert.Equal("svg", drawing.Root!.Name.LocalName);
        // A dashed line is drawn as the outlines of its dashes: two of them and a dotted one are in pieces, the solid one is whole.
        var inPieces = drawing.Descendants().Where(element => element.Attribute("stroke") is null && ((string?)element.Attribute("d") ?? "").Split('M').Length > 10);
        Assert.True(inPieces.Count() >= 3, "Each line has a stroke of its own.");
        var words = string.Concat(drawing.Descendants().Where(element => element.Name.LocalName == "text").Select(element => element.Value));
        foreach (var label in new[] { "due date", "US dollars, with tax", "bought on the day, in all", "vary by state" }) { Assert.Contains(label, words, StringComparison.Ordinal); }
        Assert.Equal("\u0089PNG", Encoding.Latin1.GetString((await File.ReadAllBytesAsync(png))[..4]));
    }

    private static string Quote(string quote, string? key = null) =>
        $$"""{"do":"quote","key":"{{key ?? quote}}","at":"2026-08-20T12:00:00Z","quote":"{{quote}}","on":"2026-08-20","by":"clerk 2","household":"H","validThrough":"2026-09-03",{{Offer}}}""";

    private static string Sign(string contract, string quote, string rent = "30.00") =>
        $$"""{"do":"sign","key":"s-{{contract}}","at":"2026-09-01T12:00:00Z","contract":"{{contract}}","on":"2026-09-01","household":"H","quote":"{{quote}}","instrument":{"kind":"flute","serial":"S-{{contract}}","condition":"used"},{{Offer.Replace("\"30.00\"", $"\"{rent}\"", StringComparison.Ordinal)}}}""";

    private async Task<string> FileAsync(params string[] lines)
    {
        var file = Path.Combine(folder, Guid.NewGuid().ToString("N"));
        await File.WriteAllLinesAsync(file, lines);
        return file;
    }

    private static Task<(int Exit, string Output, string Error)> RunAsync(string database, params string[] arguments) => Shell.ContractsAsync(database, arguments);
}
