using System.Net;
using System.Text.RegularExpressions;
using Contracts.Host.Tests.Serving.Api;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>What a browser does with a form, for tests without one.</summary>
internal static partial class PageForms
{
    /// <summary>The hidden fields of a page.</summary>
    public static List<KeyValuePair<string, string>> Hidden(string html) =>
        [.. HiddenField().Matches(html).Select(match => new KeyValuePair<string, string>(match.Groups[1].Value, WebUtility.HtmlDecode(match.Groups[2].Value)))];

    /// <summary>Sends a form as a role.</summary>
    public static async Task<Answer> PostAsync(RunningApi running, string role, string path, IEnumerable<KeyValuePair<string, string>> fields)
    {
        using var content = new FormUrlEncodedContent(fields);
        return await running.PostAsync(role, path, await content.ReadAsStringAsync(), ("Content-Type", "application/x-www-form-urlencoded"));
    }

    /// <summary>The fields of a form as a query.</summary>
    public static string Query(params (string Name, string Value)[] fields) =>
        string.Join('&', fields.Select(field => $"{Uri.EscapeDataString(field.Name)}={Uri.EscapeDataString(field.Value)}"));

    [GeneratedRegex("<input type=\"hidden\" name=\"([^\"]+)\" value=\"([^\"]*)\"")]
    private static partial Regex HiddenField();
}
