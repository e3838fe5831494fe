using System.Net;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Questions;

/// <summary>One question as it is asked: what the surfaces answer, and which of them were asked.</summary>
internal sealed class Asked(RunningApi running, Dictionary<string, string> before)
{
    /// <summary>The surfaces that have answered so far.</summary>
    public Surfaces On { get; private set; }

    public RunningApi Running { get; } = running;

    /// <summary>A page as a role sees it.</summary>
    public async Task<string> PageAsync(string role, string path, int status = 200)
    {
        var page = await Running.GetAsync(role, path);
        Assert.True((int)page.Status == status, $"{path} as {role}: {(int)page.Status} {page.Text}");
        On |= Surfaces.Page;
        return page.Text;
    }

    /// <summary>A page that leads elsewhere: where to.</summary>
    public async Task<string> LeadsToAsync(string role, string path)
    {
        var page = await Running.GetAsync(role, path);
        Assert.Equal(HttpStatusCode.Found, page.Status);
        On |= Surfaces.Page;
        return page.Headers["Location"];
    }

    /// <summary>What a route answers and the command line prints, which are the same bytes.</summary>
    public Task<JsonElement> BothAsync(string role, string path, params string[] command) => BothAsync(role, path, null, command);

    /// <summary>The same of something that is sent, and read from standard input.</summary>
    public async Task<JsonElement> BothAsync(string role, string path, string? body, string[] command)
    {
        var answer = body is null ? await Running.GetAsync(role, path) : await Running.PostAsync(role, path, body);
        Assert.True(answer.Status == HttpStatusCode.OK, $"{path} as {role}: {answer.Text}");
        var printed = await CommandAsync(0, body, [.. command, "--format", "json"]);
        Assert.Equal(printed, answer.Text);
        On |= Surfaces.Api;
        return Read(answer.Text);
    }

    /// <summary>A refusal on both, which is the same but for where its type leads.</summary>
    public async Task<JsonElement> BothRefuseAsync(string role, string path, string body, params string[] command)
    {
        var answer = await Running.PostAsync(role, path, body);
        var printed = await Shell.ContractsReadingAsync(Running.Database, body, [.. command, "--format", "json"]);
        Assert.Equal(1, printed.Exit);
        Assert.Equal(printed.Error.Replace("urn:contracts:refusal:", "/problems/", StringComparison.Ordinal), answer.Text);
        On |= Surfaces.Api | Surfaces.Command;
        return Read(answer.Text);
    }

    /// <summary>What the command line prints.</summary>
    public Task<string> CommandAsync(params string[] arguments) => CommandAsync(0, null, arguments);

    /// <summary>What the command line prints that ends with another exit code than 0.</summary>
    public Task<string> CommandAsync(int exit, params string[] arguments) => CommandAsync(exit, null, arguments);

    /// <summary>What a route answers, whatever it is.</summary>
    public async Task<Answer> ApiAsync(string role, string path, HttpMethod? method = null, string? body = null)
    {
        var answer = await Running.SendAsync(role, method ?? HttpMethod.Get, path, body);
        Assert.True(answer.Status == HttpStatusCode.OK, $"{path} as {role}: {answer.Text}");
        On |= Surfaces.Api;
        return answer;
    }

    /// <summary>What a route answers to a file of lines.</summary>
    public async Task<Answer> SentAsync(string role, string path, string file)
    {
        var answer = await Running.PostAsync(role, path, await File.ReadAllTextAsync(file), ("Content-Type", "application/jsonl"));
        Assert.True(answer.Status == HttpStatusCode.OK, $"{path} as {role}: {answer.Text}");
        On |= Surfaces.Api;
        return answer;
    }

    /// <summary>The page of checks, to which the results of another build were sent.</summary>
    public async Task<string> ResultsPageAsync(string role, string file)
    {
        var page = await Running.PostAsync(role, "/checks", Form("results", await File.ReadAllTextAsync(file)), ("Content-Type", "multipart/form-data; boundary=part"));
        Assert.True(page.Status == HttpStatusCode.OK, $"{(int)page.Status} {page.Text}");
        On |= Surfaces.Page;
        return page.Text;
    }

    private static string Form(string name, string text) =>
        $"--part\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"a.jsonl\"\r\nContent-Type: application/octet-stream\r\n\r\n{text}\r\n--part--\r\n";

    private async Task<string> CommandAsync(int exit, string? input, string[] arguments)
    {
        On |= Surfaces.Command;
        var asked = $"{string.Join('\n', arguments)}\n{input}";
        if (before.TryGetValue(asked, out var same)) { return same; }
        // The log's keys are those of the host, which are part of what is checked.
        var printed = input is null
            ? await Shell.ContractsAsync(Running.Database, [("CONTRACTS_SIGNER", Running.SignerFolder)], arguments)
            : await Shell.ContractsReadingAsync(Running.Database, input, arguments);
        Assert.True(printed.Exit == exit, $"{string.Join(' ', arguments)}: {printed.Exit} {printed.Error}");
        if (arguments[0] is not ("dossier" or "verify")) { before[asked] = printed.Output; }
        return printed.Output;
    }

    /// <summary>JSON, or the first of several lines of it.</summary>
    public static JsonElement Read(string text)
    {
        var reader = new Utf8JsonReader(Encoding.UTF8.GetBytes(text));
        return JsonElement.ParseValue(ref reader);
    }

    /// <summary>A figure of JSON by its path.</summary>
    public static string At(JsonElement root, string path) => path.Split('.').Aggregate(root, (at, name) => at.GetProperty(name)).ToString();

    /// <summary>Expects figures of JSON by their paths.</summary>
    public static void Says(JsonElement root, params (string Path, string Figure)[] figures) =>
        Assert.All(figures, one => Assert.Equal((one.Path, one.Figure), (one.Path, At(root, one.Path))));

    /// <summary>Expects a figure in the row of tiles of an account's page.</summary>
    public static void Tile(string page, string label, string text) =>
        Assert.Matches($"<dt>{Regex.Escape(label)}</dt><dd>{Regex.Escape(text)}( <a |</dd>)", page);

    /// <summary>Expects a row of a table on a page, cell by cell, as a reader sees it.</summary>
    public static void Row(string page, params string[] cells) => Assert.Contains(Rows(page), row => row.SequenceEqual(cells));

    /// <summary>Every row of a page or a part of one: its cells as text, thousands ungrouped.</summary>
    public static IReadOnlyList<string[]> Rows(string page) =>
    [
        .. Regex.Matches(page, "<tr[^>]*>(.*?)</tr>", RegexOptions.Singleline).Select(row => Regex.Matches(row.Groups[1].Value, "<t[hd][^>]*>(.*?)</t[hd]>", RegexOptions.Singleline)
            .Select(cell => Ungrouped(WebUtility.HtmlDecode(Regex.Replace(cell.Groups[1].Value, "<[^>]+>", "")).Trim())).ToArray()),
    ];

    /// <summary>The part of a page under one of its headings.</summary>
    public static string Under(string page, string id)
    {
        var start = page.IndexOf($"<h2 id=\"{id}\">", StringComparison.Ordinal);
        Assert.True(start >= 0, $"There is no heading {id}.");
        var end = page.IndexOf("<h2", start + 1, StringComparison.Ordinal);
        return end < 0 ? page[start..] : page[start..end];
    }

    private static string Ungrouped(string cell) => Regex.IsMatch(cell, @"^-?[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?$") ? cell.Replace(",", "", StringComparison.Ordinal) : cell;
}
