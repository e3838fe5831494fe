using System.Security.Cryptography;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Store.Bank;

namespace Contracts.Host.Bank;

/// <summary>What a person says of a line, made into the line of a command file that anybody could have sent.</summary>
internal static class SettleLine
{
    /// <summary>Which contracts a line pays, or which payment came back; or what is missing to say so.</summary>
    /// <param name="entry">The line.</param>
    /// <param name="contract">One contract for all of it.</param>
    /// <param name="shares">Contracts and amounts, each as <c>C-1=20.00</c>.</param>
    /// <param name="payment">The payment that came back.</param>
    /// <param name="code">Its return code.</param>
    public static (JsonObject? Line, string? Wrong) Of(RecordedEntry entry, string? contract, IReadOnlyList<string> shares, string? payment, string? code)
    {
        var line = new JsonObject { ["do"] = "settle-entry", ["entry"] = entry.Line.Entry };
        if (code is not null) { line["code"] = code; }
        if (payment is not null)
        {
            // Whose payment it is stands among the candidates where the line has any.
            contract ??= entry.Candidates.FirstOrDefault(one => one.Payment == payment)?.Contract;
            if (contract is null) { return (null, "--payment needs --contract: whose payment it is."); }
            (line["contract"], line["payment"]) = (contract, payment);
            return (line, null);
        }

        if ((contract is null) == (shares.Count == 0)) { return (null, "give --contract for all of the line, or --share for each part of it."); }
        var parts = new JsonArray();
        foreach (var share in contract is null ? shares : [$"{contract}={entry.Line.Paid()}"])
        {
            if (share.Split('=') is not [var one, var amount]) { return (null, $"'{share}' is not a contract and an amount such as C-1=20.00."); }
            parts.Add(new JsonObject { ["contract"] = one.Trim(), ["amount"] = amount.Trim() });
        }

        line["shares"] = parts;
        return (line, null);
    }

    /// <summary>That a line concerns no contract.</summary>
    public static JsonObject Aside(string entry) => new() { ["do"] = "set-entry-aside", ["entry"] = entry };

    /// <summary>The command of a line, as every command is read. Its key says what was decided and by whom: a second click is the same decision, another one is not.</summary>
    public static (Command? Command, Refusal? Refusal) Read(JsonObject line, string by, string? reason)
    {
        line["by"] = by;
        if (reason is { Length: > 0 }) { line["reason"] = reason; }
        var said = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(line.ToJsonString())))[..12];
        line["key"] = $"{(string)line["do"]!}:{(string)line["entry"]!}:{said}";
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line.ToJsonString()));
        return (read?.Command, refusal);
    }
}
