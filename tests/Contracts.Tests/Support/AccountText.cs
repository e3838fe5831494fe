using System.Text;
using System.Text.Json;
using Contracts.Disclosures;

namespace Contracts.Tests.Support;

/// <summary>An account as its JSON text, so that two accounts compare to the byte.</summary>
public static class AccountText
{
    public static string Of(Account account)
    {
        using var buffer = new MemoryStream();
        using (var json = new Utf8JsonWriter(buffer)) { AccountJson.Write(json, account); }
        return Encoding.UTF8.GetString(buffer.ToArray());
    }
}
