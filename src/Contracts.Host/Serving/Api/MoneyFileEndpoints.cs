using System.ComponentModel;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Host.Bank;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.AspNetCore.Http.Timeouts;
using Microsoft.AspNetCore.Mvc;
using NodaTime;

namespace Contracts.Host.Serving.Api;

/// <summary>Money files over HTTP: one is sent, all are listed, and the lines that wait. Deciding on a line is a command like all others.</summary>
internal static class MoneyFileEndpoints
{
    /// <summary>A larger file goes in at a terminal, where it is a stream and not a text in a body.</summary>
    private const int LargestFile = 16 << 20;

    /// <summary>With the signs that JSON or a form puts around and into it.</summary>
    internal const long LargestRequest = 2L * LargestFile;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.MoneyFileRead, ReadAsync).WithMetadata(new RequestSizeLimitAttribute(LargestRequest));
        routes.MapDoor(Doors.MoneyFiles, FilesAsync);
        routes.MapDoor(Doors.MoneyLines, LinesAsync);
    }

    private static async Task<IResult> ReadAsync(HttpContext context, ContractsStore store, ApiSettings settings, CancellationToken stop)
    {
        var (body, problem) = await Bodies.ReadAsync(context.Request, settings with { LargestBody = LargestFile }, stop);
        if (problem is not null) { return problem.Result(); }
        var (name, text, mapping, refusal) = Parts(body);
        if (refusal is not null) { return Answers.Refused(refusal); }
        // Matching goes over the whole portfolio.
        context.Features.Get<IHttpRequestTimeoutFeature>()?.DisableTimeout();
        var outcome = await TakeAsync(store, name, text, mapping, context.User.Name(), stop);
        return outcome.Refusal is { } why ? Answers.Refused(why) : Answers.Json(BankJson.Outcome(outcome));
    }

    /// <summary>Takes in a file that came in a request: it lies on the disk while it is read, since it is read more than once.</summary>
    internal static async Task<MoneyFileOutcome> TakeAsync(ContractsStore store, string name, ReadOnlyMemory<byte> bytes, CsvMapping? mapping, string by, CancellationToken stop)
    {
        var folder = Directory.CreateTempSubdirectory("money-file-");
        try
        {
            var path = Path.Combine(folder.FullName, "file");
            await File.WriteAllBytesAsync(path, bytes, stop);
            return await MoneyFiles.TakeAsync(store, new MoneyFile(path, name, mapping), by, null, stop);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static async Task<IResult> FilesAsync(ContractsStore store, [Description(Words.Known)] string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, null, known, stop);
        return refusal is not null ? Answers.Refused(refusal) : Answers.Json(BankJson.Files(await store.Bank.FilesAsync(question.Known.At, stop)));
    }

    private static async Task<IResult> LinesAsync(
        ContractsStore store, [Description("The lines of one file, by its digest or the beginning of it; of clear ones the first thousand.")] string? file,
        [Description("all for those that were decided on as well.")] string? status, CancellationToken stop) =>
        Answers.Json(BankJson.Entries(await BankCommand.ChooseAsync(store, file, status == "all", stop)));

    private static (string Name, byte[] Text, CsvMapping? Mapping, Refusal? Refusal) Parts(byte[] body)
    {
        try
        {
            using var document = JsonDocument.Parse(body, new JsonDocumentOptions { MaxDepth = 6 });
            var root = document.RootElement;
            if (root.ValueKind != JsonValueKind.Object) { return Wrong("text", "The body is an object with name, text and, for a CSV file, mapping."); }
            foreach (var member in root.EnumerateObject())
            {
                if (member.Name is not ("name" or "text" or "mapping")) { return Wrong(member.Name, $"There is no field '{member.Name}' here.", RefusalCode.FieldUnknown); }
            }

            if (!root.TryGetProperty("name", out var name) || name.ValueKind != JsonValueKind.String || name.GetString() is not { Length: > 0 and <= 200 } called)
            {
                return Wrong("name", "A file has a name of 1 to 200 characters.", RefusalCode.FieldMissing);
            }

            if (!root.TryGetProperty("text", out var text) || text.ValueKind != JsonValueKind.String)
            {
                return Wrong("text", "The file itself is a text.", RefusalCode.FieldMissing);
            }
            var (mapping, refusal) = root.TryGetProperty("mapping", out var given) ? CsvMapping.Read(System.Text.Encoding.UTF8.GetBytes(given.GetRawText())) : (null, null);
            return (called, System.Text.Encoding.UTF8.GetBytes(text.GetString()!), mapping, refusal);
        }
        catch (Exception fault) when (fault is JsonException or InvalidOperationException)
        {
            return Wrong("text", "The body is no JSON object that can be read.", RefusalCode.MalformedLine);
        }

        static (string, byte[], CsvMapping?, Refusal?) Wrong(string field, string why, RefusalCode code = RefusalCode.FieldInvalid) => ("", [], null,
            new Refusal(code, why, field));
    }
}
