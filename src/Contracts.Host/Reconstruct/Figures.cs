using System.Text.Json;
using Contracts.Disclosures;

namespace Contracts.Host.Reconstruct;

/// <summary>A figure that is otherwise in one account than in another.</summary>
public sealed record Changed(string Figure, string Then, string Now);

/// <summary>The figures of an account by name, as its JSON has them.</summary>
internal static class Figures
{
    private static readonly string[] NotFigures = ["contract", "on", "known"];

    /// <summary>Name and value of each figure, in the order of the JSON.</summary>
    public static IReadOnlyList<KeyValuePair<string, string>> Of(Account account)
    {
        using var json = JsonDocument.Parse(AccountPrinter.Json(writer => AccountJson.Write(writer, account)));
        var found = new List<KeyValuePair<string, string>>();
        Walk(json.RootElement, "");
        return found;

        void Walk(JsonElement element, string path)
        {
            switch (element.ValueKind)
            {
                case JsonValueKind.Object:
                    foreach (var member in element.EnumerateObject()) { Walk(member.Value, path.Length == 0 ? member.Name : $"{path}.{member.Name}"); }
                    break;
                case JsonValueKind.Array: break;
                default:
                    if (!NotFigures.Contains(path, StringComparer.Ordinal)) { found.Add(new(path, element.ToString())); }
                    break;
            }
        }
    }

    /// <summary>What differs between two accounts of one contract; all of the second where there was none before.</summary>
    public static IReadOnlyList<Changed> Differ(Account? then, Account now)
    {
        var before = then is null ? [] : Of(then).ToDictionary(pair => pair.Key, pair => pair.Value, StringComparer.Ordinal);
        return [.. Of(now).Where(pair => before.GetValueOrDefault(pair.Key) != pair.Value)
            .Select(pair => new Changed(pair.Key, before.GetValueOrDefault(pair.Key) ?? "", pair.Value))];
    }
}
