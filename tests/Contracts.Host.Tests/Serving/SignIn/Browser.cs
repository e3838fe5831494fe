using System.Net;
using AngleSharp.Html.Parser;
using Contracts.Host.Tests.Serving.Api;
using Xunit;

namespace Contracts.Host.Tests.Serving.SignIn;

/// <summary>A person's browser on the host: it keeps cookies, asks for pages and sends the forms that it was given.</summary>
internal sealed class Browser : IDisposable
{
    private readonly HttpClient client;

    public Browser(RunningApi running, bool secure = false)
    {
        client = running.Alba.Server.CreateClient();
        client.BaseAddress = new Uri(secure ? "https://shop.example" : "http://localhost");
    }

    /// <summary>What would be sent along: cookies by name.</summary>
    public Dictionary<string, string> Cookies { get; } = new(StringComparer.Ordinal);

    /// <summary>The cookies as the last answer set them, whole.</summary>
    public IReadOnlyList<string> Set { get; private set; } = [];

    /// <summary>Signs somebody in and expects to be let in.</summary>
    public async Task<Answer> SignInAsync(string name, string password, string purpose = "", string page = "/sign-in")
    {
        var answer = await SubmitAsync(page, ("name", name), ("password", password), ("purpose", purpose));
        Assert.True(answer.Status == HttpStatusCode.Redirect, answer.Text);
        return answer;
    }

    /// <summary>Looks at a page.</summary>
    public Task<Answer> GetAsync(string path, string accept = "text/html") => SendAsync(HttpMethod.Get, path, null, ("Accept", accept));

    /// <summary>Looks at a page and sends its form.</summary>
    public async Task<Answer> SubmitAsync(string path, params (string Name, string Value)[] fields)
    {
        var (action, form) = await FormAsync(path);
        foreach (var (name, value) in fields) { form[name] = value; }
        return await SendAsync(HttpMethod.Post, action, new FormUrlEncodedContent(form), ("Accept", "text/html"));
    }

    /// <summary>The form of a page: where it is sent, and what is in it.</summary>
    public async Task<(string Action, Dictionary<string, string> Fields)> FormAsync(string path)
    {
        var answer = await GetAsync(path);
        var page = await new HtmlParser().ParseDocumentAsync(answer.Text);
        var form = page.QuerySelector("form") ?? throw new InvalidOperationException($"{path} has no form: {(int)answer.Status} {answer.Text}");
        Assert.Equal("post", form.GetAttribute("method"));
        return (form.GetAttribute("action")!, form.QuerySelectorAll("input[type=hidden]").ToDictionary(one => one.GetAttribute("name")!, one => one.GetAttribute("value") ?? ""));
    }

    /// <summary>Sends anything, with the cookies.</summary>
    public async Task<Answer> SendAsync(HttpMethod method, string path, HttpContent? body, params (string Name, string Value)[] headers)
    {
        using var request = new HttpRequestMessage(method, path) { Content = body };
        if (Cookies.Count > 0) { request.Headers.Add("Cookie", string.Join("; ", Cookies.Select(one => $"{one.Key}={one.Value}"))); }
        foreach (var (name, value) in headers) { request.Headers.TryAddWithoutValidation(name, value); }
        using var response = await client.SendAsync(request);
        Set = response.Headers.TryGetValues("Set-Cookie", out var set) ? [.. set] : [];
        foreach (var cookie in Set)
        {
            var pair = cookie.Split(';')[0].Split('=', 2);
            if (pair[1].Length == 0) { Cookies.Remove(pair[0]); } else { Cookies[pair[0]] = pair[1]; }
        }

        return new Answer(
            response.StatusCode, await response.Content.ReadAsByteArrayAsync(),
            response.Headers.Concat(response.Content.Headers).ToDictionary(one => one.Key, one => string.Join(", ", one.Value), StringComparer.OrdinalIgnoreCase));
    }

    public void Dispose() => client.Dispose();
}
